package forecast

import (
	"math"
	"time"

	"barrelbook/domain/life"
	"barrelbook/domain/quantity"
	"barrelbook/domain/refusal"
	"barrelbook/domain/stop"
)

// Rate is a roll's wear rate, µm per km at 10 kN/mm on diameter, and how well
// it is known.
type Rate struct{ MeanUMPerKM, SDUMPerKM float64 }

// LifeInput is one roll and what is known about rolls like it.
type LifeInput struct {
	Stock quantity.Micrometre // above the tightest limit
	Rate  Rate
	Habit Habit
	// OwnDays are the lengths of the roll's own past cycles, newest last.
	OwnDays []float64
	// LastGrind is when its present cycle began, Now the day of the forecast.
	LastGrind, Now  time.Time
	LossProbability float64
}

// Life is what is left of a roll.
type Life struct {
	Grinds    Quantiles // that it will be ground once more, the last one included
	Campaigns Quantiles
	TonnageT  Quantiles
	// Dates is false where no rhythm is known.
	Dates                    bool
	Scrap                    Dates
	CampaignsPerMonth        float64
	DaysPerCycle             float64
	WearUM, StockUM, ExtraUM float64 // means of one cycle, for the reader
	Notes                    []string
}

// Dates are the moments at the quantiles.
type Dates struct{ P5, P10, P50, P90, P95 time.Time }

// Remaining forecasts the rest of a roll's life.
//
// The number of grinds is exact for the means given (package life): each takes
// wear, stock and, with probability p, an incident. The means themselves are
// known within limits only. All of that is one factor g on the removal of every
// cycle, lognormal with the combined standard error, and a number of grinds n
// becomes n/g, rounded, to at least 1:
//
//	cv²(g) = (SD(κ)²·x̄² + κ²·SE(x̄)² + SE(stock)² + SE(incidents)²) / mean²
//
// (x̄ the exposure of a cycle; scaling n instead of the stock neglects that the
// spread of n grows with its root, which is of second order.) Dates are sums of
// cycles from the last grind on, given that the present cycle has not ended; the
// roll's own rhythm is drawn towards that of its sort as far as rolls are alike.
//
// A stock below 0 is refused: the roll is past its limit. Coverage of P10 … P90
// is held to 0.75 … 0.85 on simulated works in life_test.go. ask ends it early, with
// its error.
func Remaining(in LifeInput, ask stop.Check) (Life, error) {
	if in.Stock < 0 {
		return Life{}, refusal.One("stock_mm", in.Stock.String(), "is below 0: the roll is below its scrap limit", "scrap it, or enter the limit that holds for it")
	}
	h := in.Habit
	out := Life{StockUM: h.StockUM.Mean, WearUM: h.WearUM.Mean}
	wearCV, wearSE := h.WearUM.cv(), h.WearUM.SE
	if x := h.ExposureKM; x.Mean > 0 && in.Rate.MeanUMPerKM > 0 {
		out.WearUM = in.Rate.MeanUMPerKM * x.Mean
		wearCV = x.cv()
		wearSE = math.Hypot(in.Rate.SDUMPerKM*x.Mean, in.Rate.MeanUMPerKM*x.SE)
	} else {
		out.Notes = append(out.Notes, "the wear per cycle is the mean measured: no exposure is known to put a rate to")
	}
	out.WearUM, out.StockUM = math.Max(0, out.WearUM), math.Max(0, out.StockUM)
	out.ExtraUM = h.Incident.Probability * (h.Incident.MinimumMM + h.Incident.MeanExcessMM) * 1000
	sure, err := life.Remaining(life.Input{
		StockMM: in.Stock.MM(), Wear: life.Spread{Mean: out.WearUM / 1000, CV: wearCV},
		Allowance: life.Spread{Mean: out.StockUM / 1000, CV: h.StockUM.cv()}, Incident: h.Incident, LossProbability: in.LossProbability,
	}, ask)
	if err != nil {
		return Life{}, err
	}
	cv := math.Sqrt(wearSE*wearSE+h.StockUM.SE*h.StockUM.SE+h.ExtraSE*h.ExtraSE*1e6) / (out.WearUM + out.StockUM + out.ExtraUM)
	points := stretched(sure.Chances, math.Min(cv, 1))
	out.Grinds = discrete(points)
	out.Campaigns = times(out.Grinds, math.Max(h.Campaigns, 0))
	out.TonnageT, _ = sums(points, h.TonnageT, 0)
	out.dates(in, points)
	return out, nil
}

// stretched turns P(n) into that of round(n/g) over the factor g.
func stretched(chances []float64, cv float64) []point {
	points := make([]point, 0, 5*len(chances))
	for _, g := range factors(cv) {
		for i, c := range chances {
			if c > 1e-7 {
				points = append(points, point{math.Max(1, math.Round(float64(i+1)/g.value)), c * g.weight})
			}
		}
	}
	return merged(points)
}

func times(q Quantiles, f float64) Quantiles {
	return Quantiles{math.Ceil(q.P5*f - 1e-9), math.Ceil(q.P10*f - 1e-9), math.Ceil(q.P50*f - 1e-9), math.Ceil(q.P90*f - 1e-9), math.Ceil(q.P95*f - 1e-9), q.Mean * f}
}

// dates fills the scrap dates from the rhythm.
func (l *Life) dates(in LifeInput, points []point) {
	rhythm, ok := in.rhythm()
	if !ok {
		l.Notes = append(l.Notes, "no dates: there is no finished cycle to take a rhythm from")
		return
	}
	l.Dates, l.DaysPerCycle = true, rhythm.Mean
	l.CampaignsPerMonth = in.Habit.Campaigns * daysPerMonth / rhythm.Mean
	passed := in.Now.Sub(in.LastGrind).Hours() / 24
	q, ok := sums(points, rhythm, passed)
	from := in.LastGrind
	if !ok {
		from = in.Now
		l.Notes = append(l.Notes, "the roll has lain longer than its cycles take; dates count from now")
	}
	at := func(days float64) time.Time {
		return from.Add(time.Duration(math.Min(days, 36500) * 24 * float64(time.Hour))).Truncate(time.Second)
	}
	l.Scrap = Dates{at(q.P5), at(q.P10), at(q.P50), at(q.P90), at(q.P95)}
}

const daysPerMonth = 365.25 / 12

// rhythm is the days of a cycle: the roll's own last ten, drawn towards its
// sort's.
func (in LifeInput) rhythm() (Estimate, bool) {
	own := in.OwnDays
	if len(own) > 10 {
		own = own[len(own)-10:]
	}
	sort, mine := in.Habit.Days, estimate(own)
	switch {
	case sort.Mean <= 0 && mine.Mean <= 0:
		return Estimate{}, false
	case sort.Mean <= 0:
		return Estimate{Mean: mine.Mean, SD: math.Max(mine.SD, 0.3*mine.Mean), SE: 0.3 * mine.Mean / math.Sqrt(float64(mine.Count))}, true
	}
	e := Estimate{Mean: sort.Mean, SD: sort.SD, SE: sort.SE, Count: len(own)}
	if n, tau := float64(len(own)), in.Habit.DaysBetween; n > 0 && tau > 0 && sort.SD > 0 {
		precision := n/(sort.SD*sort.SD) + 1/(tau*tau)
		e.Mean = (n*mine.Mean/(sort.SD*sort.SD) + sort.Mean/(tau*tau)) / precision
		e.SE = 1 / math.Sqrt(precision)
	}
	return e, true
}
