package contact

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

func TestLambertLowerBranch(t *testing.T) {
	// w·eʷ = x for chosen w gives x; its inverse must give w back. What the
	// rounding of x alone does to w near the branch point is allowed for.
	const steps = 20000
	for i := range steps {
		w := -1 - math.Exp(-8+14.5*float64(i)/steps)
		x := w * math.Exp(w)
		if math.Abs(x) < 1e-300 {
			break // x itself loses digits below there
		}
		allowed := 1e-15*-w + 1e-15*math.Abs(w/(w+1))
		if got := lambertWm1(x); !(math.Abs(got-w) <= allowed) {
			t.Fatalf("x %g: got %.17g, want %.17g, off by %g", x, got, w, got-w)
		}
	}
	for _, c := range []struct{ x, want float64 }{
		{-1 / math.E, -1}, {-0.4, -1}, {math.Inf(-1), -1}, {0, math.Inf(-1)}, {1, math.Inf(-1)},
		// Known in closed form: 2·e⁻² and ln 2/2 = 4·(ln 2/8) → w = −ln 4.
		{-2 * math.Exp(-2), -2}, {-math.Ln2 / 2, -2 * math.Ln2},
	} {
		if got := lambertWm1(c.x); got != c.want && !(math.Abs(got-c.want) < 3e-8) {
			t.Errorf("x %g: got %g, want %g", c.x, got, c.want)
		}
	}
}

// bodies draws pairs from a small soft roll to a hard one.
func laws(t *rapid.T) Law {
	body := func(name string) Body {
		return Body{
			rapid.Float64Range(50, 2000).Draw(t, name+" diameter"),
			rapid.Float64Range(60e3, 650e3).Draw(t, name+" modulus"),
			rapid.Float64Range(0, 0.5).Draw(t, name+" nu"),
		}
	}
	l, err := NewLaw(body("work"), body("backup"), rapid.SampledFrom([]float64{Foeppl, Johnson, 0, 1}).Draw(t, "c"))
	if err != nil {
		t.Fatal(err)
	}
	return l
}

func TestInverseOfTheApproach(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		l := laws(t)
		q := math.Exp(rapid.Float64Range(-40, 12).Draw(t, "log q"))
		alpha := l.Approach(q)
		back, slope := l.LineLoad(alpha)
		if math.Abs(back-q) > 1e-13*q {
			t.Fatalf("q %g → α %g → %g, off by %g", q, alpha, back, back/q-1)
		}
		// The slope against a central difference of the inverse itself.
		h := 1e-6 * alpha
		up, _ := l.LineLoad(alpha + h)
		down, _ := l.LineLoad(alpha - h)
		if d := (up - down) / (2 * h); math.Abs(d-slope) > 1e-6*slope {
			t.Fatalf("q %g: slope %g, difference quotient %g", q, slope, d)
		}
		if d := (l.Energy(alpha+h) - l.Energy(alpha-h)) / (2 * h); math.Abs(d-q) > 1e-6*q {
			t.Fatalf("q %g: energy rises by %g", q, d)
		}
	})
}

func TestApproachIsItsFormula(t *testing.T) {
	// Summed term by term as Johnson prints it, without the shortcuts of Law.
	rapid.Check(t, func(t *rapid.T) {
		w := Body{rapid.Float64Range(300, 900).Draw(t, "D"), rapid.Float64Range(150e3, 230e3).Draw(t, "E"), 0.28}
		c := rapid.SampledFrom([]float64{Foeppl, Johnson}).Draw(t, "c")
		q := rapid.Float64Range(1, 30e3).Draw(t, "q")
		l, err := NewLaw(w, steel1500, c)
		if err != nil {
			t.Fatal(err)
		}
		want := 0.0
		for _, b := range []Body{w, steel1500} {
			want += 2 * q * (1 - b.PoissonRatio*b.PoissonRatio) / (math.Pi * b.ElasticModulusMPa) *
				(math.Log(b.DiameterMM/l.HalfWidth(q)) + c)
		}
		if got := l.Approach(q); math.Abs(got-want) > 1e-12*want {
			t.Fatalf("got %g, want %g", got, want)
		}
	})
}

func TestFullWidthInPlaceOfHalfIsTheKnownMistake(t *testing.T) {
	// 0.374296 is what Föppl's constant gives when b is halved by mistake
	// (derived by an independent program); we must not be there.
	l, err := NewLaw(steel700, steel1500, Foeppl)
	if err != nil {
		t.Fatal(err)
	}
	q := 18e6 / 1700.0
	mistake := l.Approach(q) + 2*l.halfK*q*math.Ln2
	near(t, "the mistake", mistake, 0.374296, 2e-6)
}

func TestPartedAndOverdrivenContact(t *testing.T) {
	l, err := NewLaw(steel700, steel1500, Foeppl)
	if err != nil {
		t.Fatal(err)
	}
	for _, a := range []float64{0, -1e-300, -5, math.Inf(-1)} {
		if q, d := l.LineLoad(a); q != 0 || d != 0 {
			t.Errorf("parted by %g: got q %g slope %g, want 0", a, q, d)
		}
	}
	// Never a step down, never a slope that is not one, from a touch to absurdity.
	last := 0.0
	for e := -320.0; e < 300; e += 0.25 {
		a := math.Pow(10, e)
		q, d := l.LineLoad(a)
		if math.IsNaN(q) || q < last || math.IsNaN(d) || math.IsInf(d, 0) || d < 0 {
			t.Fatalf("α %g: q %g after %g, slope %g", a, q, last, d)
		}
		last = q
	}
	lo, dl := l.LineLoad(l.lastApproach * (1 - 1e-9))
	hi, dh := l.LineLoad(l.lastApproach * (1 + 1e-9))
	near(t, "no jump into the straight line", hi, lo, 1e-8)
	near(t, "nor a corner", dh, dl, 1e-8)
	near(t, "its inverse", l.Approach(3*l.lastLoad), l.lastApproach+2*l.lastLoad/dh, 1e-9)
}
