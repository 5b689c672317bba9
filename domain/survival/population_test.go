package survival_test

import (
	"errors"
	"math"
	"testing"

	"pgregory.net/rapid"

	"barrelbook/domain/survival"
)

func TestDescribe(t *testing.T) {
	for name, c := range map[string]struct {
		lives    []survival.Observation
		failures int
		noFit    error
		steps    int
	}{
		"failures and living rolls":   {[]survival.Observation{{Value: 10, Failed: true}, {Value: 20, Failed: true}, {Value: 15}, {Value: 30}}, 2, nil, 2},
		"none failed":                 {[]survival.Observation{{Value: 10}, {Value: 20}}, 0, survival.ErrNoFailure, 0},
		"all equal":                   {[]survival.Observation{{Value: 10, Failed: true}, {Value: 10, Failed: true}}, 2, survival.ErrAllEqual, 1},
		"the only failure is oldest":  {[]survival.Observation{{Value: 10, Failed: true}, {Value: 4}}, 1, survival.ErrAllEqual, 1},
		"one failure that was lasted": {[]survival.Observation{{Value: 10, Failed: true}, {Value: 40}}, 1, nil, 1},
	} {
		p, err := survival.Describe(c.lives, nil)
		if err != nil || p.Lives != len(c.lives) || p.Failures != c.failures || len(p.Steps) != c.steps || (p.Fit == nil) != (c.noFit != nil) || !errors.Is(p.NoFit, c.noFit) {
			t.Errorf("%s: %+v, %v", name, p, err)
		}
	}
	for name, lives := range map[string][]survival.Observation{"none": nil, "an age of 0": {{Value: 0}, {Value: 1, Failed: true}}, "not a number": {{Value: math.NaN()}}} {
		if p, err := survival.Describe(lives, nil); err == nil {
			t.Errorf("%s: %+v", name, p)
		}
	}
}

// TestAgeIsTheInverseOfSurvival for shapes of early, random and late failures.
func TestAgeIsTheInverseOfSurvival(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		w := survival.Weibull{Shape: rapid.Float64Range(0.2, 20).Draw(t, "shape"), Scale: rapid.Float64Range(1e-3, 1e7).Draw(t, "scale")}
		share := rapid.Float64Range(1e-6, 1-1e-6).Draw(t, "share")
		age, err := w.Age(share)
		if err != nil {
			t.Fatal(err)
		}
		left, err := w.Survival(0, age)
		if err != nil || math.Abs(left-(1-share)) > 1e-9 {
			t.Fatalf("%+v: by %g a share of %g has failed, %g is left (%v)", w, age, share, left, err)
		}
	})
	for _, share := range []float64{0, 1, -0.1, 1.1, math.NaN()} {
		if age, err := (survival.Weibull{Shape: 2, Scale: 10}).Age(share); err == nil {
			t.Errorf("age of a share of %g: %g", share, age)
		}
	}
	if age, err := (survival.Weibull{Shape: 1e-4, Scale: 1}).Age(0.999999); err == nil {
		t.Errorf("beyond the floats: %g", age)
	}
}
