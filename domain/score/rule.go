package score

import (
	"math"

	"gonum.org/v1/gonum/stat"
)

// Rival is one answer beside the one that a simple rule would have given.
type Rival struct{ Said, Rule, Outcome float64 }

// Skill is how answers did against a rule, by their mean absolute errors over the same
// outcomes.
type Skill struct {
	Count            int
	Error, RuleError float64
}

// enoughRivals is from how many answers on it is said that one loses.
const enoughRivals = 30

// Against holds answers against a rule.
func Against(list []Rival) Skill {
	s := Skill{Count: len(list)}
	for _, r := range list {
		s.Error += math.Abs(r.Outcome-r.Said) / float64(len(list))
		s.RuleError += math.Abs(r.Outcome-r.Rule) / float64(len(list))
	}
	return s
}

// MeanSD is what the rule works out: mean and standard deviation of a few figures, at
// least two.
func MeanSD(list []float64) (mean, sd float64) { return stat.MeanStdDev(list, nil) }

// Share of the rule's error that the answers save: 1 at best, 0 where they are no
// better, below 0 where the rule is. 0 without a rule's error.
func (s Skill) Share() float64 {
	if s.RuleError == 0 {
		return 0
	}
	return 1 - s.Error/s.RuleError
}

// Loses says whether the rule is better by more than 2 % over enough answers.
func (s Skill) Loses() bool { return s.Count >= enoughRivals && s.Share() < -0.02 }

// DistributionScore judges intervals as distributions: P5, the median and P95.
type DistributionScore struct {
	// Pinball is the mean loss of the three quantiles, in the unit of the outcome: the
	// less the better, and least on average for the true quantiles.
	Pinball float64
	// PIT counts in which tenth of its distribution each outcome fell: all alike where
	// the distributions are true, more at the ends where they are too narrow.
	PIT [10]int
}

// Distributions scores intervals of 90 %:
//
//	pinball = mean over p of 0.05, 0.5, 0.95 of max(p(y − q), (p − 1)(y − q))
//	PIT = Φ((y − median)/σ), σ that of a normal half on either side, as far as its end
//
// Koenker and Bassett, Econometrica 46 (1978); Dawid, J. R. Statist. Soc. A 147 (1984);
// both from memory. Numbers are those that Intervals takes.
func Distributions(list []Interval) DistributionScore {
	var s DistributionScore
	for _, f := range list {
		for _, at := range [...]struct{ p, q float64 }{{0.05, f.Low}, {0.5, f.Middle}, {0.95, f.High}} {
			s.Pinball += math.Max(at.p*(f.Outcome-at.q), (at.p-1)*(f.Outcome-at.q)) / 3 / float64(len(list))
		}
		side := f.High - f.Middle
		if f.Outcome < f.Middle {
			side = f.Middle - f.Low
		}
		u := 0.5
		switch {
		case side > 0:
			u = math.Erfc(-(f.Outcome-f.Middle)/side*1.6449/math.Sqrt2) / 2
		case f.Outcome > f.Middle:
			u = 1
		case f.Outcome < f.Middle:
			u = 0
		}
		s.PIT[min(9, int(10*u))]++
	}
	return s
}
