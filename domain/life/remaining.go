package life

import (
	"barrelbook/domain/refusal"
	"barrelbook/domain/stop"
)

// Quantiles of a forecast: P10 is passed with a chance of 0.9, P90 with 0.1.
type Quantiles struct{ P10, P50, P90, Mean float64 }

// Result is the forecast of one roll.
type Result struct {
	Campaigns Quantiles
	Tonnes    Quantiles
	// Chances of every number of campaigns: Chances[i] is P(N = i+1).
	Chances []float64
}

// Remaining computes the distribution of the campaigns N a roll still rolls and
// of their tonnes T.
//
//	N = the first n with X₁ + … + X_n > stock, or the campaign in which it is lost
//	X = wear + fixed allowance + random allowance + incident
//
// The campaign that uses the stock up, or in which the roll is lost, was rolled
// and counts, with all its tonnes: a roll ground to exactly its limit has one
// campaign left. (So 72 regrinds of 0.45 mm from 712.4 to 680.0 mm are 73
// campaigns.) Campaigns are independent of each other and of the roll's age;
// wear and random allowance are gamma, incidents a shifted exponential.
//
// Ranges: stock 0 … 10 000 mm, CV 0 … 2, probabilities 0 … 1, and stock worth at
// most 10 000 campaigns unless losses end it sooner. Anything else is refused,
// a stock below 0 among it: that roll is past its limit.
//
// A campaign quantile is the smallest n with P(N ≤ n) at least the level; of
// tonnes, the root. Mean tonnes are E N · E T₁ (Wald's identity; N is a stopping
// time, so it holds when wear follows tonnes too).
//
// Nothing is drawn at random: the law of the sum is computed on a lattice (see
// lattice), or in closed form when only incidents vary. Accuracy: probabilities
// to 2e-4 against closed forms (for a CV above 0.7, whose density has a kink at 0,
// those of a stock that is off by at most 1/500; where campaigns scatter by less
// than 1/8000 of the stock, by at most that, to 1e-3), and within the noise of a million
// simulated rolls, in remaining_test.go.
// Tonnes that wear follows are to a tenth of a campaign in the worst case, a wear
// with no scatter of its own and exponential tonnes.
//
// It takes milliseconds as a rule and can take seconds where a campaign takes next
// to nothing off; ask ends it early, with its error.
func Remaining(in Input, ask stop.Check) (Result, error) {
	if err := in.check(); err != nil {
		return Result{}, err
	}
	in = in.settled()
	if err := in.checkEnds(); err != nil {
		return Result{}, err
	}
	x := in.removal()
	x.watch.Check = ask
	if in.StockMM <= tolerance && x.spread() {
		// Any wear at all ends it, and a lattice needs a length.
		return in.result([]float64{1}, x, nil), nil
	}
	var w *law
	if x.spread() {
		made := newLaw(x, in.StockMM)
		if err := x.watch.Err(); err != nil {
			return Result{}, err // the law is not whole
		}
		w = &made
	}
	r := in.result(chances(aliveAfter(in, x, w)), x, w)
	if err := x.watch.Err(); err != nil {
		return Result{}, err
	}
	return r, nil
}

func (in Input) result(p []float64, x removal, w *law) Result {
	r := Result{Chances: p}
	for i, c := range p {
		r.Campaigns.Mean += float64(i+1) * c
	}
	r.Tonnes.Mean = r.Campaigns.Mean * in.Tonnes.Mean
	var cdf func(float64) float64
	switch {
	case in.Tonnes.Mean == 0 || in.Tonnes.CV == 0:
	case in.coupled() && w != nil:
		cdf = w.coupledCDF(in, x, p)
	default:
		cdf = tonnesCDF(p, in.Tonnes, x.watch)
	}
	for _, level := range []struct {
		q                 float64
		campaigns, tonnes *float64
	}{
		{0.1, &r.Campaigns.P10, &r.Tonnes.P10},
		{0.5, &r.Campaigns.P50, &r.Tonnes.P50},
		{0.9, &r.Campaigns.P90, &r.Tonnes.P90},
	} {
		n := campaignQuantile(p, level.q)
		*level.campaigns = n
		*level.tonnes = n * in.Tonnes.Mean
		if cdf != nil {
			*level.tonnes = quantile(cdf, level.q, n*in.Tonnes.Mean, in.Tonnes.Mean/2)
		}
	}
	return r
}

// Months turns the campaigns into time for a roll that rolls so many campaigns a
// month in the rotation of its stand. The rotation is taken as steady; a date is
// the caller's day plus these months.
func (r Result) Months(campaignsPerMonth float64) (Quantiles, error) {
	var c refusal.Check
	if c.Positive("campaigns_per_month", campaignsPerMonth) && campaignsPerMonth < 1e-6 {
		c.Add("campaigns_per_month", refusal.Number(campaignsPerMonth), "must be at least 1e-6", "")
	}
	if err := c.Err(); err != nil {
		return Quantiles{}, err
	}
	q := r.Campaigns
	return Quantiles{q.P10 / campaignsPerMonth, q.P50 / campaignsPerMonth,
		q.P90 / campaignsPerMonth, q.Mean / campaignsPerMonth}, nil
}
