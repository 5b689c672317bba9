package survival

import (
	"math"

	"barrelbook/domain/refusal"
	"barrelbook/domain/stop"
)

// Weibull is a fitted life distribution, S(t) = exp(−(t/Scale)^Shape).
type Weibull struct {
	Shape, Scale float64
	// LogLikelihood at the estimate, natural logarithm, in the unit of the ages.
	LogLikelihood float64
	// ShapeSE and ScaleSE are the standard errors from the observed information.
	ShapeSE, ScaleSE float64
}

// The two samples that have no maximum likelihood estimate. Compare with
// errors.Is; both are refusals of the field "observations".
var (
	// ErrNoFailure: every life is censored, so the likelihood only grows with the scale.
	ErrNoFailure = refusal.One("observations", "without a failure",
		"must hold at least one life that ended in failure",
		"wait for a failure, or read the Kaplan–Meier curve, which needs none")
	// ErrAllEqual: every failure has the greatest age of the sample, so the
	// likelihood grows without end with the shape.
	ErrAllEqual = refusal.One("observations", "with all failures at the greatest age",
		"must hold failures of different ages, or a life that outlasted one of them",
		"wait for another failure, or enter ages more finely")
)

// greatestShape bounds the search. Failures so close together that the shape
// passes it are equal to within any gauge or counter: 1e5 means a spread of ages of 1e-5.
const greatestShape = 1e5

// FitWeibull computes the maximum likelihood shape β and scale η of a Weibull
// distribution from failures and right-censored lives. β is the root of
//
//	g(β) = Σ tᵢ^β ln tᵢ / Σ tᵢ^β − 1/β − (1/r) Σ_failed ln tᵢ
//	η    = (Σ tᵢ^β / r)^(1/β)
//
// with sums over all lives unless marked and r failures. g rises with β, so the
// root is the only one. Standard errors are the roots of the diagonal of the
// inverse of the observed information in (β, η).
//
// Ages are finite and above 0, in any unit. ErrNoFailure and ErrAllEqual name
// the samples without an estimate.
//
// Lawless, Statistical Models and Methods for Lifetime Data, 2nd ed., section
// 5.2 (quoted from memory); the numbers are checked against published fits and
// the score equations, to the digits printed and to 1e-8, in weibull_test.go.
//
// A pass over 200,000 lives takes some milliseconds, and there are tens of them;
// ask ends the fit early, with its error.
func FitWeibull(observations []Observation, ask stop.Check) (Weibull, error) {
	if err := check(observations, false); err != nil {
		return Weibull{}, err
	}
	s, err := newLogAges(observations)
	if err != nil {
		return Weibull{}, err
	}
	shape, err := s.shape(ask)
	if err != nil {
		return Weibull{}, err
	}
	return s.at(shape), nil
}

// logAges holds the sample as logarithms of age over the greatest age. All are
// at most 0, so powers tᵢ^β never overflow.
type logAges struct {
	all        []float64
	greatest   float64 // logarithm of the greatest age
	failures   float64
	meanFailed float64 // mean logarithm of the failures
}

func newLogAges(observations []Observation) (logAges, error) {
	s := logAges{all: make([]float64, len(observations)), greatest: math.Inf(-1)}
	for _, o := range observations {
		s.greatest = math.Max(s.greatest, math.Log(o.Value))
	}
	for i, o := range observations {
		s.all[i] = math.Log(o.Value) - s.greatest
		if o.Failed {
			s.failures++
			s.meanFailed += s.all[i]
		}
	}
	switch {
	case s.failures == 0:
		return s, ErrNoFailure
	case s.meanFailed == 0:
		return s, ErrAllEqual
	}
	s.meanFailed /= s.failures
	return s, nil
}

// powers gives Σ t^β, Σ t^β ln t and Σ t^β (ln t)² with t over the greatest age.
func (s logAges) powers(shape float64) (p0, p1, p2 float64) {
	for _, l := range s.all {
		p := math.Exp(shape * l)
		p0 += p
		p1 += p * l
		p2 += p * l * l
	}
	return p0, p1, p2
}

// shape solves g(β) = 0 by Newton's method kept inside a bracket.
func (s logAges) shape(ask stop.Check) (float64, error) {
	score := func(shape float64) (g, slope float64) {
		p0, p1, p2 := s.powers(shape)
		mean := p1 / p0
		return mean - 1/shape - s.meanFailed, p2/p0 - mean*mean + 1/(shape*shape)
	}
	// A life without censoring has a spread of ln t near 1/β; start there.
	low, high := 0.0, math.Min(-1/s.meanFailed, greatestShape)
	for g, _ := score(high); g < 0; g, _ = score(high) {
		if high == greatestShape {
			return 0, ErrAllEqual
		}
		if err := ask.Err(); err != nil {
			return 0, err
		}
		low, high = high, math.Min(2*high, greatestShape)
	}
	shape := high
	for range 200 {
		if err := ask.Err(); err != nil {
			return 0, err
		}
		g, slope := score(shape)
		if g > 0 {
			high = shape
		} else {
			low = shape
		}
		next := shape - g/slope
		if !(next > low && next < high) {
			next = (low + high) / 2
		}
		if math.Abs(next-shape) <= 1e-15*shape {
			return next, nil
		}
		shape = next
	}
	return shape, nil
}

// at completes the fit for the shape found. With z = (t/η)^β, Σz = r at the
// maximum, which shortens the second derivatives to the ones used here.
func (s logAges) at(shape float64) Weibull {
	p0, p1, p2 := s.powers(shape)
	r := s.failures
	logScale := math.Log(p0/r) / shape // over the greatest age
	w := Weibull{Shape: shape, Scale: math.Exp(logScale + s.greatest)}
	w.LogLikelihood = r*(math.Log(shape)-shape*logScale-1+(shape-1)*s.meanFailed) - r*s.greatest

	// Sums of z ln(t/η) and z (ln(t/η))², from the powers shifted by ln η.
	perZ := r / p0
	z1 := perZ * (p1 - logScale*p0)
	z2 := perZ * (p2 - 2*logScale*p1 + logScale*logScale*p0)
	// Information in (β, ln η): the scale's own unit enters only at the end.
	bb, be, ee := r/(shape*shape)+z2, -shape*z1, r*shape*shape
	det := bb*ee - be*be
	w.ShapeSE = math.Sqrt(ee / det)
	w.ScaleSE = w.Scale * math.Sqrt(bb/det)
	return w
}

// Survival computes the chance that a roll that has reached age t reaches t + x:
//
//	S(t+x | t) = exp(−(t/η)^β ((1 + x/t)^β − 1)),  and exp(−(x/η)^β) at t = 0
//
// Age and further use are finite, at least 0, in the unit of the fit. The
// difference is taken before the exponential, so the answer keeps its digits
// for an old roll and a short step. Identities are checked in weibull_test.go.
func (w Weibull) Survival(age, further float64) (float64, error) {
	var c refusal.Check
	c.NotNegative("age", age)
	c.NotNegative("further", further)
	if err := c.Err(); err != nil {
		return 0, err
	}
	if further == 0 {
		return 1, nil
	}
	if age == 0 {
		return math.Exp(-math.Exp(w.Shape * (math.Log(further) - math.Log(w.Scale)))), nil
	}
	// In logarithms, so that neither factor overflows on its own: a young roll
	// has (t/η)^β near 0 and (1 + x/t)^β beyond the floats.
	growth := math.Log1p(further / age)
	if further > age {
		growth = math.Log(age+further) - math.Log(age)
	}
	if growth *= w.Shape; growth < 40 {
		growth = math.Log(math.Expm1(growth))
	}
	return math.Exp(-math.Exp(w.Shape*(math.Log(age)-math.Log(w.Scale)) + growth)), nil
}
