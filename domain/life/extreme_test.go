package life

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

// TestExtremesAreFiniteAndQuick draws inputs of every size that the ranges let
// pass, down to the smallest floats: an answer is finite or the input is
// refused.
func TestExtremesAreFiniteAndQuick(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		draw := func(name string, most float64) float64 {
			switch rapid.IntRange(0, 3).Draw(t, "size of "+name) {
			case 0:
				return 0
			case 1:
				return most * math.Exp(-rapid.Float64Range(0, 740).Draw(t, name))
			case 2:
				return most * math.Exp(-rapid.Float64Range(0, 12).Draw(t, name))
			default:
				return most * rapid.Float64Range(0, 1).Draw(t, name)
			}
		}
		in := Input{StockMM: draw("stock", 1000), Wear: Spread{draw("wear", 100), draw("wear cv", 2)}, FixedAllowanceMM: draw("fixed", 100),
			Allowance: Spread{draw("allowance", 100), draw("allowance cv", 2)},
			Incident:  Incident{draw("probability", 1), draw("minimum", 100), draw("excess", 100)}, LossProbability: draw("loss", 1),
			Tonnes: Spread{draw("tonnes", 1e5), draw("tonnes cv", 2)}, WearFollowsTonnes: rapid.Bool().Draw(t, "follows")}
		r, err := Remaining(in, nil)
		if err != nil {
			return
		}
		for _, q := range []Quantiles{r.Campaigns, r.Tonnes} {
			for _, v := range []float64{q.P10, q.P50, q.P90, q.Mean} {
				if math.IsNaN(v) || math.IsInf(v, 0) || v < 0 {
					t.Fatalf("%+v gives %+v and %+v", in, r.Campaigns, r.Tonnes)
				}
			}
		}
	})
}

// TestSlowInput: losses end this roll long before its wear, which leaves a
// hundred million campaigns of stock; it took a minute of summing.
func TestSlowInput(t *testing.T) {
	in := Input{StockMM: 223, Wear: Spread{2.2e-6, 0.055}, LossProbability: 0.0682, Tonnes: Spread{85, 0.39}, WearFollowsTonnes: true}
	r, err := Remaining(in, nil)
	if err != nil {
		t.Fatal(err)
	}
	// Geometric: the mean is 1/loss.
	if want := 1 / in.LossProbability; math.Abs(r.Campaigns.Mean-want) > 1e-6*want {
		t.Errorf("mean %v campaigns, want %v", r.Campaigns.Mean, want)
	}
}
