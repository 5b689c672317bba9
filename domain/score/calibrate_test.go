package score_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"pgregory.net/rapid"

	"barrelbook/domain/score"
)

// TestSpreadComesToNineInTen: intervals half as wide as they should be, and twice as
// wide, hold nine in ten after some hundred answers.
func TestSpreadComesToNineInTen(t *testing.T) {
	for _, wrong := range []float64{0.6, 1, 1.7} {
		random := rand.New(rand.NewPCG(2, 8))
		var s score.Spread
		within, n := 0.0, 0.0
		for i := range 3000 {
			ok := math.Abs(random.NormFloat64()) < 1.6449*wrong*s.Factor()
			if s = s.After(ok); i >= 500 {
				n++
				if ok {
					within++
				}
			}
		}
		if math.Abs(within/n-0.9) > 0.012 || math.Abs(s.Factor()*wrong-1) > 0.25 {
			t.Errorf("width off by %g: %.3f held, factor %.2f", wrong, within/n, s.Factor())
		}
	}
}

// TestRecalibrateMakesAnswersTrue: answers too sure by half again and off by some
// log odds come true as often as said afterwards.
func TestRecalibrateMakesAnswersTrue(t *testing.T) {
	random := rand.New(rand.NewPCG(4, 8))
	draw := func() score.Chance {
		x := 2.5 * random.NormFloat64() // of what is true
		said := 1.5*x + 0.6
		return score.Chance{Probability: 1 / (1 + math.Exp(-said)), Happened: random.Float64() < 1/(1+math.Exp(-x))}
	}
	var past []score.Chance
	for range 600 {
		past = append(past, draw())
	}
	r := score.Recalibrate(past)
	if math.Abs(r.Slope-1/1.5) > 0.12 || math.Abs(r.Intercept+0.4) > 0.25 || r.Answers != 600 {
		t.Errorf("%+v", r)
	}
	var plain, better []score.Chance
	for range 4000 {
		c := draw()
		plain = append(plain, c)
		better = append(better, score.Chance{Probability: r.Of(c.Probability), Happened: c.Happened})
	}
	if a, b := ece(t, plain), ece(t, better); b > 0.02 || b > a/2 {
		t.Errorf("ECE %.3f, recalibrated %.3f", a, b)
	}
}

func ece(t *testing.T, list []score.Chance) float64 {
	t.Helper()
	s, err := score.Chances(list)
	if err != nil {
		t.Fatal(err)
	}
	return s.ECE
}

// TestRecalibrationKeepsTheOrder and the ends; few answers move little, none nothing.
func TestRecalibrationKeepsTheOrder(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var list []score.Chance
		for range rapid.IntRange(0, 40).Draw(t, "answers") {
			list = append(list, score.Chance{Probability: rapid.Float64Range(0, 1).Draw(t, "p"), Happened: rapid.Bool().Draw(t, "came")})
		}
		r := score.Recalibrate(list)
		a, b := rapid.Float64Range(0, 1).Draw(t, "a"), rapid.Float64Range(0, 1).Draw(t, "b")
		if a > b {
			a, b = b, a
		}
		p, q := r.Of(a), r.Of(b)
		if !(p >= 0 && q <= 1 && p <= q) || r.Of(0) != 0 || r.Of(1) != 1 {
			t.Fatalf("%+v takes %g to %g and %g to %g", r, a, p, b, q)
		}
		if len(list) == 0 && r.Of(a) != a {
			t.Fatalf("%g became %g before anything was scored", a, r.Of(a))
		}
	})
}
