// Package score holds forecasts against what came of them: how often intervals
// held it, by how much they were off, how wide they were, and whether what was
// called likely happened as often as it was called.
package score

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/mathext"

	"barrelbook/domain/refusal"
)

// Interval is one forecast of a quantity and its outcome, in one unit.
type Interval struct{ Low, Middle, High, Outcome float64 }

// IntervalScore is how well intervals did.
type IntervalScore struct {
	Count, Within int
	// Coverage is Within/Count; CoverageLow and CoverageHigh are its 95 %
	// limits. 0, 0 and 1 where there is no forecast.
	Coverage, CoverageLow, CoverageHigh float64
	// Bias is the mean of outcome less middle: positive where forecasts were too
	// low. BiasSE is its standard error, 0 with fewer than two.
	Bias, BiasSE float64
	// AbsoluteError is the mean of |outcome − middle|, Sharpness the mean width of
	// the intervals: the narrower the better, as long as they cover.
	AbsoluteError, Sharpness float64
}

// Intervals scores intervals that were meant to hold their outcomes with the
// same probability.
//
//	coverage  = #{low ≤ outcome ≤ high} / n, with Clopper and Pearson's limits
//	bias      = mean(outcome − middle),  sharpness = mean(high − low)
//
// Every number must be finite and low ≤ middle ≤ high; n may be 0. Clopper and
// Pearson, Biometrika 26 (1934); coverage beside sharpness: Gneiting, Balabdaoui
// and Raftery, J. R. Statist. Soc. B 69 (2007), both quoted from memory.
func Intervals(list []Interval) (IntervalScore, error) {
	s := IntervalScore{Count: len(list), CoverageHigh: 1}
	var c refusal.Check
	var squares float64
	for i, f := range list {
		path := fmt.Sprintf("forecasts/%d", i)
		ok := c.Finite(path+"/low", f.Low) && c.Finite(path+"/middle", f.Middle) && c.Finite(path+"/high", f.High) && c.Finite(path+"/outcome", f.Outcome)
		if ok && (f.Low > f.Middle || f.Middle > f.High) {
			c.Add(path, fmt.Sprintf("%g, %g, %g", f.Low, f.Middle, f.High), "must be in rising order", "")
		}
		if f.Low <= f.Outcome && f.Outcome <= f.High {
			s.Within++
		}
		off := f.Outcome - f.Middle
		s.Bias += off
		squares += off * off
		s.AbsoluteError += math.Abs(off)
		s.Sharpness += f.High - f.Low
	}
	if err := c.Err(); err != nil || len(list) == 0 {
		return s, err
	}
	n := float64(len(list))
	s.Bias, s.AbsoluteError, s.Sharpness, s.Coverage = s.Bias/n, s.AbsoluteError/n, s.Sharpness/n, float64(s.Within)/n
	if n > 1 {
		s.BiasSE = math.Sqrt(math.Max(0, squares/n-s.Bias*s.Bias) / (n - 1))
	}
	s.CoverageLow, s.CoverageHigh = Binomial(s.Within, s.Count)
	return s, nil
}

// Binomial gives the 95 % limits of a probability of which k in n trials came
// true: the probabilities at which so many or more, and so many or fewer, would
// be seen in one of forty cases.
//
//	low = I⁻¹(0.025; k, n−k+1),  high = I⁻¹(0.975; k+1, n−k)
//
// 0 ≤ k ≤ n; (0, 1) for n = 0. Exact, so wider than 95 % needs on small n.
// Clopper and Pearson, Biometrika 26 (1934), quoted from memory; checked against
// the binomial sums themselves in interval_test.go.
func Binomial(k, n int) (low, high float64) {
	low, high = 0, 1
	if k > 0 {
		low = mathext.InvRegIncBeta(float64(k), float64(n-k+1), 0.025)
	}
	if k < n {
		high = mathext.InvRegIncBeta(float64(k+1), float64(n-k), 0.975)
	}
	return low, high
}
