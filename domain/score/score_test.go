package score_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/stat/distuv"
	"pgregory.net/rapid"

	"barrelbook/domain/refusal"
	"barrelbook/domain/score"
)

func ExampleIntervals() {
	s, _ := score.Intervals([]score.Interval{
		{Low: 180, Middle: 210, High: 240, Outcome: 215},
		{Low: 190, Middle: 220, High: 250, Outcome: 260},
		{Low: 170, Middle: 200, High: 230, Outcome: 205},
	})
	fmt.Printf("%d of %d within, off by %+.1f µm on average, %.0f µm wide\n", s.Within, s.Count, s.Bias, s.Sharpness)
	// Output: 2 of 3 within, off by +16.7 µm on average, 60 µm wide
}

// Limits of 8 in 10 and of 0 in 10 as printed in tables of Clopper and Pearson's
// interval: 0.4439–0.9748 and 0–0.3085, quoted from memory.
func TestBinomialTable(t *testing.T) {
	for _, c := range []struct {
		k, n      int
		low, high float64
	}{{8, 10, 0.4439, 0.9748}, {0, 10, 0, 0.3085}, {10, 10, 0.6915, 1}, {0, 0, 0, 1}} {
		low, high := score.Binomial(c.k, c.n)
		if math.Abs(low-c.low) > 5e-5 || math.Abs(high-c.high) > 5e-5 {
			t.Errorf("%d of %d: %.5f to %.5f, want %g to %g", c.k, c.n, low, high, c.low, c.high)
		}
	}
}

// By definition: at the lower limit k or more has a chance of 1/40, at the upper
// k or fewer.
func TestBinomialSums(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 400).Draw(t, "n")
		k := rapid.IntRange(0, n).Draw(t, "k")
		low, high := score.Binomial(k, n)
		if k > 0 {
			if p := 1 - (distuv.Binomial{N: float64(n), P: low}).CDF(float64(k-1)); math.Abs(p-0.025) > 1e-8 {
				t.Fatalf("%d of %d: %g or more at the lower limit %g", k, n, p, low)
			}
		}
		if k < n {
			if p := (distuv.Binomial{N: float64(n), P: high}).CDF(float64(k)); math.Abs(p-0.025) > 1e-8 {
				t.Fatalf("%d of %d: %g or fewer at the upper limit %g", k, n, p, high)
			}
		}
	})
}

// Worked by hand.
func TestIntervalsByHand(t *testing.T) {
	s, err := score.Intervals([]score.Interval{{0, 1, 2, 2}, {0, 1, 2, 0}, {0, 1, 2, 4}, {0, 0, 0, 0}})
	if err != nil {
		t.Fatal(err)
	}
	// off: 1 −1 3 0, mean 0.75; squares 11, population variance 2.1875, over 3.
	want := score.IntervalScore{Count: 4, Within: 3, Coverage: 0.75, Bias: 0.75, BiasSE: math.Sqrt(2.1875 / 3), AbsoluteError: 1.25, Sharpness: 1.5}
	want.CoverageLow, want.CoverageHigh = score.Binomial(3, 4)
	if s != want {
		t.Errorf("got %+v, want %+v", s, want)
	}
}

func TestNothingToScore(t *testing.T) {
	s, err := score.Intervals(nil)
	if err != nil || s != (score.IntervalScore{CoverageHigh: 1}) {
		t.Errorf("%+v, %v", s, err)
	}
	c, err := score.Chances(nil)
	if err != nil || c.Count != 0 || c.Brier != 0 || c.Tenths[9].High != 1 {
		t.Errorf("%+v, %v", c, err)
	}
}

// Worked by hand: (0.9−1)² + (0.9−0)² + (0.2−0)² + (1−1)² over 4.
func TestChancesByHand(t *testing.T) {
	s, err := score.Chances([]score.Chance{{0.9, true}, {0.9, false}, {0.2, false}, {1, true}})
	if err != nil {
		t.Fatal(err)
	}
	if math.Abs(s.Brier-0.86/4) > 1e-15 || s.BaseRate != 0.5 || s.BrierOfBaseRate != 0.25 {
		t.Errorf("%+v", s)
	}
	if last := s.Tenths[9]; last.Count != 3 || last.Happened != 2 || math.Abs(last.MeanProbability-2.8/3) > 1e-15 {
		t.Errorf("the last tenth: %+v", last)
	}
	if s.Tenths[2].Count != 1 || s.Tenths[2].Happened != 0 {
		t.Errorf("the third tenth: %+v", s.Tenths[2])
	}
}

// Probabilities that are true score p(1−p) on average and lie within the limits
// of their tenths about as often as limits of 95 % should.
func TestTrueProbabilitiesAreReliable(t *testing.T) {
	random := rand.New(rand.NewPCG(7, 9))
	list := make([]score.Chance, 20000)
	expected := 0.0
	for i := range list {
		p := random.Float64()
		list[i] = score.Chance{Probability: p, Happened: random.Float64() < p}
		expected += p * (1 - p) / float64(len(list))
	}
	s, err := score.Chances(list)
	if err != nil {
		t.Fatal(err)
	}
	if math.Abs(s.Brier-expected) > 0.005 {
		t.Errorf("Brier %g, expected %g", s.Brier, expected)
	}
	count, outside := 0, 0
	for _, tenth := range s.Tenths {
		count += tenth.Count
		if tenth.MeanProbability < tenth.Low || tenth.MeanProbability > tenth.High {
			outside++
		}
	}
	if count != len(list) || outside > 2 {
		t.Errorf("%d forecasts in the tenths, %d of ten outside their limits", count, outside)
	}
}

func TestRefusals(t *testing.T) {
	_, err := score.Intervals([]score.Interval{{2, 1, 3, 0}, {0, math.NaN(), 1, 0}})
	if n := len(refusal.FieldsOf(err)); n != 2 {
		t.Errorf("%d refusals: %v", n, err)
	}
	if _, err := score.Chances([]score.Chance{{1.01, true}}); len(refusal.FieldsOf(err)) != 1 {
		t.Errorf("a probability above 1: %v", err)
	}
}
