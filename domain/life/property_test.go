package life_test

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"barrelbook/domain/life"
	"barrelbook/domain/refusal"
)

func drawInput(t *rapid.T) life.Input {
	cv := rapid.OneOf(rapid.Just(0.0), rapid.Float64Range(0.02, 2))
	chance := rapid.OneOf(rapid.Just(0.0), rapid.Float64Range(0, 0.3), rapid.Just(1.0))
	in := life.Input{
		Wear:             life.Spread{Mean: rapid.Float64Range(0.01, 2).Draw(t, "wear"), CV: cv.Draw(t, "wear cv")},
		FixedAllowanceMM: rapid.SampledFrom([]float64{0, 0.001, 0.3}).Draw(t, "fixed"),
		Allowance:        life.Spread{Mean: rapid.SampledFrom([]float64{0, 0.2}).Draw(t, "allowance"), CV: cv.Draw(t, "allowance cv")},
		Incident: life.Incident{
			Probability:  chance.Draw(t, "incident"),
			MinimumMM:    rapid.SampledFrom([]float64{0, 0.5}).Draw(t, "minimum"),
			MeanExcessMM: rapid.SampledFrom([]float64{0, 0.02, 1.5}).Draw(t, "excess"),
		},
		LossProbability:   rapid.SampledFrom([]float64{0, 0.01, 0.3, 1}).Draw(t, "loss"),
		Tonnes:            life.Spread{Mean: 2500, CV: cv.Draw(t, "tonnes cv")},
		WearFollowsTonnes: rapid.Bool().Draw(t, "follows"),
	}
	in.StockMM = mean1(in) * rapid.Float64Range(0, 60).Draw(t, "campaigns")
	return in
}

// mean1 and square1 are E X and E X², written out apart from the package.
func mean1(in life.Input) float64 {
	return in.Wear.Mean + in.FixedAllowanceMM + in.Allowance.Mean +
		in.Incident.Probability*(in.Incident.MinimumMM+in.Incident.MeanExcessMM)
}

func square1(in life.Input) float64 {
	m := mean1(in)
	wear := 1 + in.Wear.CV*in.Wear.CV
	if in.WearFollowsTonnes {
		wear *= 1 + in.Tonnes.CV*in.Tonnes.CV
	}
	low, excess, p := in.Incident.MinimumMM, in.Incident.MeanExcessMM, in.Incident.Probability
	incident := p*((low+excess)*(low+excess)+excess*excess) - p*p*(low+excess)*(low+excess)
	return m*m + in.Wear.Mean*in.Wear.Mean*(wear-1) + math.Pow(in.Allowance.Mean*in.Allowance.CV, 2) + incident
}

func TestEveryForecastIsADistribution(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		in := drawInput(t)
		r := remaining(t, in)
		sum := 0.0
		for n, c := range r.Chances {
			if !(c >= 0) {
				t.Fatalf("P(N = %d) = %v; %+v", n+1, c, in)
			}
			sum += c
		}
		if math.Abs(sum-1) > 1e-12 {
			t.Fatalf("chances add up to %v; %+v", sum, in)
		}
		for _, q := range []life.Quantiles{r.Campaigns, r.Tonnes} {
			if !(q.P10 >= 0 && q.P10 <= q.P50 && q.P50 <= q.P90 && q.P90 < 1e9 && q.Mean > 0 && q.Mean < 1e9) {
				t.Fatalf("quantiles %+v; %+v", q, in)
			}
		}
		if r.Campaigns.P10 < 1 {
			t.Fatalf("%v campaigns with stock left; %+v", r.Campaigns.P10, in)
		}
		// Wald with Lorden's bound on the overshoot (Lorden, Ann. Math. Statist. 41
		// (1970) 520): stock < E N · E X ≤ stock + E X²/E X, unless losses end it.
		if in.LossProbability == 0 {
			over := r.Campaigns.Mean*mean1(in) - in.StockMM
			if slack := 2e-4 * mean1(in); over < -slack || over > square1(in)/mean1(in)+slack {
				t.Fatalf("mean overshoot %v mm, bound %v; %+v", over, square1(in)/mean1(in), in)
			}
		}
	})
}

func TestForecastFollowsTheUnitOfLength(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		in := drawInput(t)
		in.StockMM += 0.01 // well above the tolerance for sums of constants, which has a unit
		big := in
		for _, mm := range []*float64{&big.StockMM, &big.Wear.Mean, &big.FixedAllowanceMM, &big.Allowance.Mean,
			&big.Incident.MinimumMM, &big.Incident.MeanExcessMM} {
			*mm *= 8 // exact in binary
		}
		a, b := remaining(t, in), remaining(t, big)
		if math.Abs(a.Campaigns.Mean-b.Campaigns.Mean) > 1e-6*a.Campaigns.Mean || math.Abs(a.Tonnes.P50-b.Tonnes.P50) > 1e-4*a.Tonnes.P50 {
			t.Fatalf("%+v and, eight times as large, %+v; %+v", a.Campaigns, b.Campaigns, in)
		}
	})
}

func TestMoreStockNeverShortensALife(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		in := drawInput(t)
		more := in
		more.StockMM += rapid.Float64Range(0, 2).Draw(t, "more")
		a, b := remaining(t, in), remaining(t, more)
		for n := 1; n <= len(b.Chances); n++ {
			if upTo(b, n) > upTo(a, n)+2e-4 {
				t.Fatalf("P(N ≤ %d) rose from %v to %v with %v mm more; %+v", n, upTo(a, n), upTo(b, n), more.StockMM-in.StockMM, in)
			}
		}
	})
}

func TestSharpCases(t *testing.T) {
	for _, c := range []struct {
		name                string
		in                  life.Input
		p10, p50, p90, mean float64
	}{
		// 72 regrinds exactly fit between 712.4 and 680.0 mm, and the roll rolls
		// once before each and once after the last. Binary floats make it 71.
		{"constant cuts", life.Input{StockMM: 712.4 - 680.0, Wear: life.Spread{Mean: 0.45}}, 73, 73, 73, 73},
		{"constant, in two parts", life.Input{StockMM: 32.4, Wear: life.Spread{Mean: 0.35}, Allowance: life.Spread{Mean: 0.1}}, 73, 73, 73, 73},
		{"a cut of every campaign's incident", life.Input{StockMM: 10, Incident: life.Incident{Probability: 1, MinimumMM: 2}}, 6, 6, 6, 6},
		{"at the limit", life.Input{Wear: life.Spread{Mean: 0.3, CV: 0.4}, Tonnes: life.Spread{Mean: 10}}, 1, 1, 1, 1},
		{"at the limit, constant", life.Input{Wear: life.Spread{Mean: 0.3}}, 1, 1, 1, 1},
		{"lost at once", life.Input{StockMM: 10, Wear: life.Spread{Mean: 0.3, CV: 0.4}, LossProbability: 1}, 1, 1, 1, 1},
		// Only losses end it: geometric, P(N ≤ n) = 1 − 0.9ⁿ.
		{"no wear at all", life.Input{StockMM: 5, LossProbability: 0.1}, 1, 7, 22, 10},
		// Half of the campaigns take 1 mm and the third such ends it: negative
		// binomial, mean 3/0.5; P(N ≤ 3, 4, 5, 6, 8, 9) = 1/8, 5/16, 1/2, 21/32, 219/256, 233/256.
		{"two cuts fit", life.Input{StockMM: 2, Incident: life.Incident{Probability: 0.5, MinimumMM: 1}}, 3, 5, 9, 6},
	} {
		t.Run(c.name, func(t *testing.T) {
			r := remaining(t, c.in)
			got := r.Campaigns
			if got.P10 != c.p10 || got.P50 != c.p50 || got.P90 != c.p90 || math.Abs(got.Mean-c.mean) > 1e-6*c.mean {
				t.Errorf("got %+v, want %v %v %v mean %v", got, c.p10, c.p50, c.p90, c.mean)
			}
		})
	}
}

func TestRefusals(t *testing.T) {
	for _, c := range []struct {
		path   string
		change func(*life.Input)
	}{
		{"stock_mm", func(in *life.Input) { in.StockMM = -0.001 }},
		{"stock_mm", func(in *life.Input) { in.StockMM = math.NaN() }},
		{"wear/mean_mm", func(in *life.Input) { in.Wear.Mean = -1 }},
		{"wear/cv", func(in *life.Input) { in.Wear.CV = 2.1 }},
		{"allowance/fixed_mm", func(in *life.Input) { in.FixedAllowanceMM = math.Inf(1) }},
		{"allowance/mean_mm", func(in *life.Input) { in.Allowance.Mean = -1 }},
		{"incident/probability", func(in *life.Input) { in.Incident.Probability = 1.01 }},
		{"incident/minimum_mm", func(in *life.Input) { in.Incident.MinimumMM = -1 }},
		{"incident/mean_excess_mm", func(in *life.Input) { in.Incident.MeanExcessMM = -1 }},
		{"loss_probability", func(in *life.Input) { in.LossProbability = -0.01 }},
		{"tonnes/mean_t", func(in *life.Input) { in.Tonnes.Mean = -1 }},
		{"tonnes/cv", func(in *life.Input) { in.Tonnes.CV = math.NaN() }},
		{"tonnes/mean_t", func(in *life.Input) { in.Tonnes.Mean, in.WearFollowsTonnes = 0, true }},
		// Nothing is taken and nothing is lost: it would last for ever.
		{"stock_mm", func(in *life.Input) { *in = life.Input{StockMM: 3} }},
		{"stock_mm", func(in *life.Input) { *in = life.Input{StockMM: 40, Wear: life.Spread{Mean: 0.0003, CV: 0.3}} }},
	} {
		in := finishing
		c.change(&in)
		r, err := life.Remaining(in, nil)
		fields := refusal.FieldsOf(err)
		if len(fields) != 1 || fields[0].Path != c.path {
			t.Errorf("%+v gave %+v, %v; want %s refused", in, r.Campaigns, err, c.path)
		}
	}
}

func TestMonths(t *testing.T) {
	r := remaining(t, finishing)
	m, err := r.Months(2.5)
	if err != nil || m.P10*2.5 != r.Campaigns.P10 || m.P90*2.5 != r.Campaigns.P90 || math.Abs(m.Mean*2.5-r.Campaigns.Mean) > 1e-9 {
		t.Errorf("got %+v, %v from %+v", m, err, r.Campaigns)
	}
	for _, bad := range []float64{0, -1, math.NaN(), 1e-9} {
		if _, err := r.Months(bad); refusal.FieldsOf(err) == nil {
			t.Errorf("%v campaigns a month: %v", bad, err)
		}
	}
}
