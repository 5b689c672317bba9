package life_test

import (
	"math"
	"slices"
	"testing"

	"gonum.org/v1/gonum/mathext"
	"gonum.org/v1/gonum/stat/distuv"
	"pgregory.net/rapid"

	"barrelbook/domain/life"
)

// late finishing work roll, roughly: the figures are invented.
var finishing = life.Input{
	StockMM: 40, Wear: life.Spread{Mean: 0.25, CV: 0.3},
	FixedAllowanceMM: 0.1, Allowance: life.Spread{Mean: 0.05, CV: 0.5},
	Incident:        life.Incident{Probability: 0.04, MinimumMM: 0.5, MeanExcessMM: 1.2},
	LossProbability: 0.002, Tonnes: life.Spread{Mean: 3000, CV: 0.2},
}

func remaining(t interface{ Fatalf(string, ...any) }, in life.Input) life.Result {
	r, err := life.Remaining(in, nil)
	if err != nil {
		t.Fatalf("%+v: %v", in, err)
	}
	return r
}

// upTo is P(N ≤ n).
func upTo(r life.Result, n int) float64 {
	sum := 0.0
	for _, c := range r.Chances[:min(n, len(r.Chances))] {
		sum += c
	}
	return sum
}

// With gamma wear and a fixed allowance only, the sum of n is gamma too:
// P(N > n) = P(n·shape, (stock − n·fixed)/scale).
func TestAgainstTheGammaClosedForm(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		in := life.Input{
			Wear:             life.Spread{Mean: rapid.Float64Range(0.02, 3).Draw(t, "wear"), CV: rapid.Float64Range(0.03, 1.6).Draw(t, "cv")},
			FixedAllowanceMM: rapid.SampledFrom([]float64{0, 0.03, 0.1, 0.37}).Draw(t, "fixed"),
		}
		in.StockMM = (in.Wear.Mean + in.FixedAllowanceMM) * rapid.Float64Range(0.3, 150).Draw(t, "campaigns")
		r := remaining(t, in)
		allowed, aside := 2e-4, 0.0
		if in.Wear.CV > 0.7 { // no bound to the slope of the density of one campaign's wear
			aside = in.StockMM / 500
		}
		if in.StockMM > 8000*in.Wear.Mean*in.Wear.CV { // too fine for the greatest lattice
			aside = max(aside, in.StockMM/8000)
			allowed = 1e-3
		}
		shape := 1 / (in.Wear.CV * in.Wear.CV)
		exact := func(n int, stock float64) float64 {
			left := max(0, stock-float64(n)*in.FixedAllowanceMM)
			return 1 - mathext.GammaIncReg(float64(n)*shape, left/(in.Wear.Mean/shape))
		}
		for n := 1; n <= len(r.Chances); n++ {
			got, least, most := upTo(r, n), exact(n, in.StockMM+aside), exact(n, in.StockMM-aside)
			if got < least-allowed || got > most+allowed {
				t.Fatalf("P(N ≤ %d) = %v, want %v to %v within %v; %+v", n, got, least, most, allowed, in)
			}
		}
	})
}

// With exponential cuts of mean 1 the quantiles are one more than those of the
// Poisson table at the stock (any printed table of the cumulative Poisson).
func TestExponentialCutsAgainstThePoissonTable(t *testing.T) {
	for stock, want := range map[float64][4]float64{10: {7, 11, 15, 11}, 20: {15, 21, 27, 21}} {
		r := remaining(t, life.Input{StockMM: stock, Wear: life.Spread{Mean: 1, CV: 1}})
		if c := r.Campaigns; c.P10 != want[0] || c.P50 != want[1] || c.P90 != want[2] || math.Abs(c.Mean-want[3]) > 1e-3 {
			t.Errorf("stock %g: %+v, want %v", stock, c, want)
		}
	}
}

// Exponential wear is a Poisson process along the stock: N − 1 is Poisson, the
// overshoot is exponential again, so E N = 1 + stock/mean.
func TestExponentialWearIsAPoissonProcess(t *testing.T) {
	in := life.Input{StockMM: 30, Wear: life.Spread{Mean: 1.2, CV: 1}}
	r := remaining(t, in)
	law := distuv.Poisson{Lambda: 25}
	for n := 1; n <= len(r.Chances); n++ {
		if got, want := upTo(r, n), law.CDF(float64(n-1)); math.Abs(got-want) > 2e-5 {
			t.Errorf("P(N ≤ %d) = %v, want %v", n, got, want)
		}
	}
	if math.Abs(r.Campaigns.Mean-26) > 1e-4 {
		t.Errorf("mean %v campaigns, want 26", r.Campaigns.Mean)
	}
}

// Wear that is nothing but tonnes, and tonnes exponential: the tonnes at the end
// are stock·mean_t/mean_mm and one exponential more.
func TestWearThatFollowsExponentialTonnes(t *testing.T) {
	in := life.Input{StockMM: 6, Wear: life.Spread{Mean: 0.5}, Tonnes: life.Spread{Mean: 2000, CV: 1}, WearFollowsTonnes: true}
	r := remaining(t, in)
	for _, c := range []struct {
		name       string
		got, level float64
	}{
		{"p10", r.Tonnes.P10, 0.1}, {"p50", r.Tonnes.P50, 0.5}, {"p90", r.Tonnes.P90, 0.9},
	} {
		if want := 24000 - 2000*math.Log(1-c.level); math.Abs(c.got-want) > 200 {
			t.Errorf("%s: %.1f t, want %.1f", c.name, c.got, want)
		}
	}
	if math.Abs(r.Campaigns.Mean-13) > 4e-3 || math.Abs(r.Tonnes.Mean-26000) > 8 {
		t.Errorf("means %v campaigns, %v t; want 13 and 26000", r.Campaigns.Mean, r.Tonnes.Mean)
	}
}

// A million simulated lives: every probability, quantile and mean within the
// noise of the simulation. The greatest distance of two distributions passes
// 2.3/√count with a chance near 5e-5 (Kolmogorov); the seeds are fixed.
func TestAgainstAMillionSimulatedLives(t *testing.T) {
	const count = 1_000_000
	short := finishing
	short.StockMM, short.LossProbability = 3, 0.01
	follows := short
	follows.WearFollowsTonnes = true
	for name, in := range map[string]life.Input{"independent": short, "wear follows tonnes": follows} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			r := remaining(t, in)
			campaigns, tonnes, _ := simulate(in, count, 11)
			slices.Sort(campaigns)
			slices.Sort(tonnes)
			noise := 2.3 / math.Sqrt(count)
			for n := 1; n <= len(r.Chances); n++ {
				if got, want := upTo(r, n), shareUpTo(campaigns, float64(n)); math.Abs(got-want) > noise {
					t.Errorf("P(N ≤ %d) = %v, simulated %v; %+v", n, got, want, in)
				}
			}
			for _, c := range []struct{ level, tonnes float64 }{
				{0.1, r.Tonnes.P10}, {0.5, r.Tonnes.P50}, {0.9, r.Tonnes.P90},
			} {
				if share := shareUpTo(tonnes, c.tonnes); math.Abs(share-c.level) > noise {
					t.Errorf("%v t is the quantile %v of the simulation, want %v; %+v", c.tonnes, share, c.level, in)
				}
			}
			for _, c := range []struct {
				got    float64
				sample []float64
			}{{r.Campaigns.Mean, campaigns}, {r.Tonnes.Mean, tonnes}} {
				if off := 4 * deviation(c.sample) / math.Sqrt(count); math.Abs(c.got-mean(c.sample)) > off {
					t.Errorf("mean %v, simulated %v ± %v; %+v", c.got, mean(c.sample), off, in)
				}
			}
		})
	}
}

// Longer lives, at a size that stays quick.
func TestAgainstSimulatedLongLives(t *testing.T) {
	const count = 40_000
	noLoss := finishing
	noLoss.LossProbability = 0
	follows := finishing
	follows.WearFollowsTonnes = true
	steady := noLoss // wear exactly as the tonnes
	steady.Wear.CV, steady.WearFollowsTonnes = 0, true
	incidentsOnly := finishing
	incidentsOnly.Wear.CV, incidentsOnly.Allowance.CV = 0, 0
	narrow := life.Input{StockMM: 40, Wear: life.Spread{Mean: 0.25, CV: 0.05}, FixedAllowanceMM: 0.1, Tonnes: life.Spread{Mean: 3000, CV: 0.2}}
	for name, in := range map[string]life.Input{
		"as is": finishing, "no loss": noLoss, "follows": follows, "steady": steady,
		"incidents only": incidentsOnly, "narrow": narrow,
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			r := remaining(t, in)
			campaigns, tonnes, taken := simulate(in, count, 3)
			slices.Sort(campaigns)
			slices.Sort(tonnes)
			noise := 2.3 / math.Sqrt(count)
			for n := 1; n <= len(r.Chances); n++ {
				if got, want := upTo(r, n), shareUpTo(campaigns, float64(n)); math.Abs(got-want) > noise {
					t.Errorf("P(N ≤ %d) = %v, simulated %v", n, got, want)
				}
			}
			if share := shareUpTo(tonnes, r.Tonnes.P10); math.Abs(share-0.1) > noise {
				t.Errorf("P10 %v t is the quantile %v of the simulation", r.Tonnes.P10, share)
			}
			if share := shareUpTo(tonnes, r.Tonnes.P90); math.Abs(share-0.9) > noise {
				t.Errorf("P90 %v t is the quantile %v of the simulation", r.Tonnes.P90, share)
			}
			// Wald: the stock taken by the last campaign is E N · E X.
			each := in.Wear.Mean + in.FixedAllowanceMM + in.Allowance.Mean +
				in.Incident.Probability*(in.Incident.MinimumMM+in.Incident.MeanExcessMM)
			if off := 4 * deviation(taken) / math.Sqrt(count); math.Abs(r.Campaigns.Mean*each-mean(taken)) > off {
				t.Errorf("E N · E X = %v mm, simulated lives took %v ± %v", r.Campaigns.Mean*each, mean(taken), off)
			}
		})
	}
}
