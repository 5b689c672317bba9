package score_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"barrelbook/domain/score"
)

// Worked by hand.
func TestAgainstByHand(t *testing.T) {
	s := score.Against([]score.Rival{{10, 12, 11}, {10, 13, 9}})
	if s.Count != 2 || s.Error != 1 || s.RuleError != 2.5 || math.Abs(s.Share()-0.6) > 1e-15 || s.Loses() {
		t.Errorf("%+v saves %g", s, s.Share())
	}
	if none := score.Against(nil); none.Share() != 0 || none.Loses() {
		t.Errorf("%+v", none)
	}
	var many []score.Rival
	for range 40 {
		many = append(many, score.Rival{Said: 11, Rule: 10.5, Outcome: 10})
	}
	if s := score.Against(many); !s.Loses() || s.Share() != -1 {
		t.Errorf("%+v saves %g and does not lose", s, s.Share())
	}
}

// Worked by hand: 5 % of 4 above the median, half of 1 and 5 % of 2 … of one interval.
func TestDistributionByHand(t *testing.T) {
	s := score.Distributions([]score.Interval{{Low: 0, Middle: 3, High: 6, Outcome: 4}})
	want := (0.05*4 + 0.5*1 + 0.05*2) / 3 // above P5, above the median, below P95
	if math.Abs(s.Pinball-want) > 1e-15 || s.PIT[7] != 1 {
		t.Errorf("%+v, want a loss of %g in the eighth tenth", s, want)
	}
}

// True distributions fill the tenths alike; too narrow ones the ends, at a greater loss.
func TestDistributionsTellNarrowOnes(t *testing.T) {
	random := rand.New(rand.NewPCG(5, 9))
	var honest, narrow []score.Interval
	for range 20000 {
		y := random.NormFloat64()
		honest = append(honest, score.Interval{Low: -1.6449, High: 1.6449, Outcome: y})
		narrow = append(narrow, score.Interval{Low: -0.8, High: 0.8, Outcome: y})
	}
	a, b := score.Distributions(honest), score.Distributions(narrow)
	for i, n := range a.PIT {
		if n < 1850 || n > 2150 {
			t.Errorf("tenth %d has %d of 20000", i, n)
		}
	}
	if b.PIT[0] < 4000 || b.PIT[9] < 4000 || b.Pinball <= a.Pinball {
		t.Errorf("narrow: %+v, honest: %+v", b, a)
	}
}
