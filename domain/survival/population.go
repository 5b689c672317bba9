package survival

import (
	"errors"
	"math"

	"barrelbook/domain/refusal"
	"barrelbook/domain/stop"
)

// Population is what the lives of one sort of rolls say together.
type Population struct {
	Lives, Failures int
	// Fit is nil where there is none, and NoFit says why: ErrNoFailure or
	// ErrAllEqual.
	Fit   *Weibull
	NoFit error
	Steps []Step // of Kaplan and Meier's curve, which needs no fit
}

// Describe reads a population both ways: a Weibull distribution, where it has
// one, and Kaplan and Meier's curve beside it to hold it against. Ages are finite
// and above 0, at least one life is needed; ask ends it early. See FitWeibull and KaplanMeier.
func Describe(lives []Observation, ask stop.Check) (Population, error) {
	p := Population{Lives: len(lives)}
	for _, l := range lives {
		if l.Failed {
			p.Failures++
		}
	}
	fit, err := FitWeibull(lives, ask)
	switch {
	case err == nil:
		p.Fit = &fit
	case errors.Is(err, ErrNoFailure), errors.Is(err, ErrAllEqual):
		p.NoFit = err
	default:
		return p, err
	}
	p.Steps, err = KaplanMeier(lives)
	return p, err
}

// Age by which a share of the rolls has failed,
//
//	t = η·(−ln(1 − share))^(1/β)
//
// with the share between 0 and 1, both left out. It is the inverse of Survival
// at age 0, by which population_test.go checks it. An age beyond the floats is
// refused: a shape so near 0 says nothing.
func (w Weibull) Age(share float64) (float64, error) {
	var c refusal.Check
	if !(share > 0 && share < 1) {
		c.Add("share", refusal.Number(share), "must lie between 0 and 1", "")
		return 0, c.Err()
	}
	age := w.Scale * math.Exp(math.Log(-math.Log1p(-share))/w.Shape)
	c.Finite("share", age)
	return age, c.Err()
}
