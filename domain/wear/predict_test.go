package wear_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"barrelbook/domain/wear"
)

// By hand: κ 4 ± 0.3 µm/km, σ 8 µm, x 50 km: 200 ± 1.6449·√(64+225) = ± 27.963.
func TestPredictWorkedByHand(t *testing.T) {
	got, err := wear.Belief{RateUmPerKm: 4, RateSD: 0.3, NoiseUM: 8}.Predict(50, 0.90)
	if err != nil || got.WearUM != 200 || !near(got.LowUM, 200-27.9626, 1e-5) || !near(got.HighUM, 200+27.9626, 1e-5) {
		t.Errorf("got %+v, %v, want 200 ± 27.9626", got, err)
	}
	if got, err := (wear.Belief{RateUmPerKm: 1, NoiseUM: 8}).Predict(2, 0.9); err != nil || got.LowUM != 0 {
		t.Errorf("low end %+v, %v, want 0", got, err)
	}
}

// The interval holds its promise on rates and readings drawn as it assumes:
// 90 % of 20 000, within four standard errors (0.85 %).
func TestPredictCovers(t *testing.T) {
	rng := rand.New(rand.NewPCG(7, 11))
	b := wear.Belief{RateUmPerKm: 4, RateSD: 0.4, NoiseUM: 8}
	const n = 20_000
	inside := 0
	for range n {
		x := 20 + 60*rng.Float64()
		p, err := b.Predict(x, 0.90)
		if err != nil {
			t.Fatal(err)
		}
		found := (b.RateUmPerKm+b.RateSD*rng.NormFloat64())*x + b.NoiseUM*rng.NormFloat64()
		if found >= p.LowUM && found <= p.HighUM {
			inside++
		}
	}
	if share := float64(inside) / n; math.Abs(share-0.90) > 0.0085 {
		t.Errorf("covered %v, want 0.90", share)
	}
}

func TestPredictRefuses(t *testing.T) {
	for _, row := range []struct {
		b    wear.Belief
		x, c float64
	}{
		{wear.Belief{RateUmPerKm: -1}, 1, 0.9}, {wear.Belief{RateSD: math.NaN()}, 1, 0.9},
		{wear.Belief{}, -1, 0.9}, {wear.Belief{}, 1, 1}, {wear.Belief{RateUmPerKm: 1e200}, 1e200, 0.9},
	} {
		if p, err := row.b.Predict(row.x, row.c); err == nil || p != (wear.Prediction{}) {
			t.Errorf("%+v: got %+v, %v", row, p, err)
		}
	}
}
