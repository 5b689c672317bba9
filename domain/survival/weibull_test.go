package survival_test

import (
	"errors"
	"math"
	"testing"

	"pgregory.net/rapid"

	"barrelbook/domain/refusal"
	"barrelbook/domain/survival"
)

func failed(ages ...float64) []survival.Observation {
	var out []survival.Observation
	for _, a := range ages {
		out = append(out, survival.Observation{Value: a, Failed: true})
	}
	return out
}

func alive(ages ...float64) []survival.Observation {
	out := failed(ages...)
	for i := range out {
		out[i].Failed = false
	}
	return out
}

func within(t *testing.T, name string, got, want, tolerance float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tolerance) {
		t.Errorf("%s: got %.10g, want %.10g within %g", name, got, want, tolerance)
	}
}

func TestWeibullAgainstPublishedFits(t *testing.T) {
	t.Run("ten of twenty on test censored at 500 h", func(t *testing.T) {
		// NIST/SEMATECH e-Handbook of Statistical Methods, 8.4.1.3, Weibull
		// example; printed to four, three and three decimals (published, seen).
		sample := append(failed(54, 187, 216, 240, 244, 335, 361, 373, 375, 386),
			alive(500, 500, 500, 500, 500, 500, 500, 500, 500, 500)...)
		w, err := survival.FitWeibull(sample, nil)
		if err != nil {
			t.Fatal(err)
		}
		within(t, "shape", w.Shape, 1.7208, 0.00005)
		within(t, "scale", w.Scale, 606.528, 0.0005)
		within(t, "log-likelihood", w.LogLikelihood, -75.135, 0.0005)
	})
	t.Run("twenty-three ball bearings, million revolutions", func(t *testing.T) {
		// Lieblein and Zelen, J. Res. NBS 57 (1956) 273 (paper seen, data quoted
		// from memory).
		w, err := survival.FitWeibull(failed(17.88, 28.92, 33.00, 41.52, 42.12, 45.60, 48.48, 51.84, 51.96, 54.12, 55.56, 67.80,
			68.64, 68.64, 68.88, 84.12, 93.12, 98.64, 105.12, 105.84, 127.92, 128.04, 173.40), nil)
		if err != nil {
			t.Fatal(err)
		}
		within(t, "shape", w.Shape, 2.10206, 0.00005)
		within(t, "scale", w.Scale, 81.8783, 0.0005)
		within(t, "log-likelihood", w.LogLikelihood, -113.69129, 0.00005)
	})
	t.Run("seventy diesel generator fans, hours", func(t *testing.T) {
		// Data: Nelson, Applied Life Data Analysis (1982), as reprinted in a
		// statistics package's manual (seen). Answer: Nelson, quoted from
		// memory to the digits given, so the scale is held to half an hour.
		sample := append(failed(450, 1150, 1150, 1600, 2070, 2070, 2080, 3100, 3450, 4600, 6100, 8750),
			alive(460, 1560, 1660, 1850, 1850, 1850, 1850, 1850, 2030, 2030, 2030, 2200,
				3000, 3000, 3000, 3000, 3200, 3750, 3750, 4150, 4150, 4150, 4150, 4300, 4300, 4300, 4300,
				4850, 4850, 4850, 4850, 5000, 5000, 5000, 6100, 6100, 6100, 6300, 6450, 6450, 6700, 7450,
				7800, 7800, 8100, 8100, 8200, 8500, 8500, 8500, 8750, 8750, 9400, 9900,
				10100, 10100, 10100, 11500)...)
		if len(sample) != 70 {
			t.Fatalf("the sample has %d fans, not 70", len(sample))
		}
		w, err := survival.FitWeibull(sample, nil)
		if err != nil {
			t.Fatal(err)
		}
		within(t, "shape", w.Shape, 1.0584, 0.00005)
		within(t, "scale", w.Scale, 26297, 0.5)
	})
}

// logLikelihood is the definition, kept apart from the code under test.
func logLikelihood(sample []survival.Observation, shape, scale float64) float64 {
	sum := 0.0
	for _, o := range sample {
		if o.Failed {
			sum += math.Log(shape/scale) + (shape-1)*math.Log(o.Value/scale)
		}
		sum -= math.Pow(o.Value/scale, shape)
	}
	return sum
}

func drawSample(t *rapid.T) []survival.Observation {
	shape := rapid.Float64Range(0.6, 6).Draw(t, "shape")
	n := rapid.IntRange(4, 40).Draw(t, "n")
	sample := make([]survival.Observation, n)
	for i := range sample {
		u := rapid.Float64Range(0.02, 0.98).Draw(t, "u")
		sample[i] = survival.Observation{
			Value:  900 * math.Pow(-math.Log(u), 1/shape),
			Failed: i < 2 || rapid.Bool().Draw(t, "failed"),
		}
	}
	sample[0].Value, sample[1].Value = 300, 700 // two different failures: an estimate exists
	return sample
}

func TestWeibullIsTheMaximumAndItsErrorsAreTheCurvature(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		sample := drawSample(t)
		w, err := survival.FitWeibull(sample, nil)
		if err != nil {
			t.Fatalf("%v: %v", sample, err)
		}
		l := func(a, b float64) float64 { return logLikelihood(sample, w.Shape*a, w.Scale*b) }
		if top := l(1, 1); math.Abs(top-w.LogLikelihood) > 1e-9*math.Abs(top)+1e-9 {
			t.Fatalf("log-likelihood %v, by the definition %v; %v", w.LogLikelihood, top, sample)
		}
		const h = 1e-4
		daa := (l(1+h, 1) - 2*l(1, 1) + l(1-h, 1)) / (h * h)
		dbb := (l(1, 1+h) - 2*l(1, 1) + l(1, 1-h)) / (h * h)
		dab := (l(1+h, 1+h) - l(1+h, 1-h) - l(1-h, 1+h) + l(1-h, 1-h)) / (4 * h * h)
		if ga := (l(1+h, 1) - l(1-h, 1)) / (2 * h); math.Abs(ga) > 1e-5*math.Abs(daa) {
			t.Fatalf("slope %v along the shape at %+v", ga, w)
		}
		if gb := (l(1, 1+h) - l(1, 1-h)) / (2 * h); math.Abs(gb) > 1e-5*math.Abs(dbb) {
			t.Fatalf("slope %v along the scale at %+v", gb, w)
		}
		det := daa*dbb - dab*dab
		shapeSE, scaleSE := w.Shape*math.Sqrt(-dbb/det), w.Scale*math.Sqrt(-daa/det)
		if math.Abs(w.ShapeSE/shapeSE-1) > 1e-3 || math.Abs(w.ScaleSE/scaleSE-1) > 1e-3 {
			t.Fatalf("standard errors %v %v, by differences %v %v; %v", w.ShapeSE, w.ScaleSE, shapeSE, scaleSE, sample)
		}
	})
}

func TestWeibullFollowsTheUnit(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		sample := drawSample(t)
		factor := math.Pow(10, rapid.Float64Range(-9, 9).Draw(t, "log factor"))
		a, err := survival.FitWeibull(sample, nil)
		if err != nil {
			t.Fatal(err)
		}
		for i := range sample {
			sample[i].Value *= factor
		}
		b, err := survival.FitWeibull(sample, nil)
		if err != nil {
			t.Fatal(err)
		}
		if math.Abs(b.Shape/a.Shape-1) > 1e-10 || math.Abs(b.Scale/(a.Scale*factor)-1) > 1e-10 ||
			math.Abs(b.ScaleSE/(a.ScaleSE*factor)-1) > 1e-9 {
			t.Fatalf("%+v became %+v when the ages were multiplied by %v", a, b, factor)
		}
	})
}

func TestWeibullRefusals(t *testing.T) {
	for name, c := range map[string]struct {
		sample []survival.Observation
		want   error
	}{
		"no failure":                        {alive(3, 4, 5), survival.ErrNoFailure},
		"one failure alone":                 {failed(7), survival.ErrAllEqual},
		"all failures equal":                {failed(7, 7, 7), survival.ErrAllEqual},
		"equal failures, shorter censored":  {append(failed(7, 7), alive(2, 3, 7)...), survival.ErrAllEqual},
		"equal to the last bits of a float": {failed(7, 7*(1+1e-13), 7*(1-1e-13)), survival.ErrAllEqual},
	} {
		t.Run(name, func(t *testing.T) {
			if w, err := survival.FitWeibull(c.sample, nil); !errors.Is(err, c.want) {
				t.Fatalf("%v gave %+v, %v; want %v", c.sample, w, err, c.want)
			}
		})
	}
	t.Run("equal failures but one outlived them", func(t *testing.T) {
		w, err := survival.FitWeibull(append(failed(7, 7), alive(9)...), nil)
		if err != nil {
			t.Fatal(err)
		}
		// r = 2 at u = 1, one censored at u = 9/7: c ln c / (2+c) = 1/β with c = u^β.
		c := math.Pow(9.0/7, w.Shape)
		within(t, "score", c*math.Log(c)/(2+c), 1, 1e-9)
	})
	t.Run("every bad age is named", func(t *testing.T) {
		_, err := survival.FitWeibull(failed(5, 0, math.NaN(), -1, math.Inf(1)), nil)
		var paths []string
		for _, f := range refusal.FieldsOf(err) {
			paths = append(paths, f.Path)
		}
		want := []string{"observations/1/value", "observations/2/value", "observations/3/value", "observations/4/value"}
		if len(paths) != len(want) {
			t.Fatalf("got %v, want %v", paths, want)
		}
		for i := range want {
			if paths[i] != want[i] {
				t.Errorf("got %v, want %v", paths, want)
			}
		}
	})
	t.Run("nothing at all", func(t *testing.T) {
		if _, err := survival.FitWeibull(nil, nil); refusal.FieldsOf(err) == nil {
			t.Fatalf("got %v", err)
		}
	})
}

func TestConditionalSurvival(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		w := survival.Weibull{
			Shape: rapid.Float64Range(0.2, 30).Draw(t, "shape"),
			Scale: math.Pow(10, rapid.Float64Range(-3, 6).Draw(t, "log scale")),
		}
		at := func(age, further float64) float64 {
			s, err := w.Survival(age, further)
			if err != nil || math.IsNaN(s) || s < 0 || s > 1 {
				t.Fatalf("%+v: S(%v + %v | %v) = %v, %v", w, age, further, age, s, err)
			}
			return s
		}
		age := w.Scale * rapid.Float64Range(0, 1.2).Draw(t, "age")
		a := w.Scale * rapid.Float64Range(0, 0.5).Draw(t, "first step")
		b := w.Scale * rapid.Float64Range(0, 0.5).Draw(t, "second step")
		// Two steps one after the other are one step: S(t+a+b|t) = S(t+a|t) S(t+a+b|t+a).
		whole, parts := at(age, a+b), at(age, a)*at(age+a, b)
		if math.Abs(whole-parts) > 1e-9*whole+1e-300 {
			t.Fatalf("%+v at %v: %v in one step, %v in two (%v and %v)", w, age, whole, parts, a, b)
		}
		// A new roll's is the plain Weibull survival.
		if got, want := at(0, a), math.Exp(-math.Pow(a/w.Scale, w.Shape)); math.Abs(got-want) > 1e-12 {
			t.Fatalf("%+v: S(%v) = %v, want %v", w, a, got, want)
		}
		at(age*1e200, a*1e200) // far out: still a probability
	})
	// Shape 1 has no memory.
	w := survival.Weibull{Shape: 1, Scale: 40}
	s, err := w.Survival(1e6, 10)
	if err != nil {
		t.Fatal(err)
	}
	within(t, "memoryless", s, math.Exp(-0.25), 1e-12)
	if _, err := w.Survival(-1, math.NaN()); len(refusal.FieldsOf(err)) != 2 {
		t.Fatalf("want both fields refused, got %v", err)
	}
}
