package contact

import (
	"math"
	"strconv"
	"testing"

	"gonum.org/v1/gonum/integrate/quad"
	"gonum.org/v1/gonum/optimize"
)

// searchField finds the greatest value of f over the field and where it is: a
// grid over 0 ≤ x ≤ 2, 0 ≤ z ≤ 3, then Nelder and Mead's simplex from the best
// point. It knows nothing of the closed forms it is compared with.
func searchField(t *testing.T, f func(sx, sz, txz float64) float64) (best, x, z float64) {
	t.Helper()
	at := func(x, z float64) float64 { return f(Field(x, math.Abs(z))) }
	for i := range 81 {
		for j := range 121 {
			xi, zj := float64(i)/40, float64(j)/40
			if v := at(xi, zj); v > best {
				best, x, z = v, xi, zj
			}
		}
	}
	r, err := optimize.Minimize(
		optimize.Problem{Func: func(p []float64) float64 { return -at(p[0], p[1]) }},
		[]float64{x, z},
		&optimize.Settings{Converger: &optimize.FunctionConverge{Absolute: 1e-16, Iterations: 400}},
		&optimize.NelderMead{SimplexSize: 0.02})
	if err != nil {
		t.Fatal(err)
	}
	return -r.F, r.X[0], math.Abs(r.X[1])
}

func TestClosedFormsAreTheGreatestOfTheField(t *testing.T) {
	compare := func(t *testing.T, got peak, f func(sx, sz, txz float64) float64) {
		t.Helper()
		best, x, z := searchField(t, f)
		near(t, "stress", got.stress, best, 1e-9)
		// A maximum is flat: its place is known to the root of its value.
		if math.Abs(got.depth-z) > 2e-4 {
			t.Errorf("depth: got %.6f, search found %.6f (x %.4f)", got.depth, z, x)
		}
	}
	t.Run("shear in the plane", func(t *testing.T) {
		compare(t, inPlaneShear(), func(sx, sz, txz float64) float64 { return math.Hypot((sx-sz)/2, txz) })
	})
	t.Run("orthogonal shear", func(t *testing.T) {
		compare(t, orthogonalShear(), func(_, _, txz float64) float64 { return math.Abs(txz) })
	})
	for _, nu := range []float64{0, 0.1, 0.126, 0.128, 0.19, 0.2, 0.2423, 0.25, 0.28, 0.3, 0.33, 0.4, 0.5} {
		t.Run("von Mises, nu "+trim(nu), func(t *testing.T) {
			compare(t, vonMises(nu), func(sx, sz, txz float64) float64 {
				sy := nu * (sx + sz)
				return math.Sqrt(((sx-sy)*(sx-sy)+(sy-sz)*(sy-sz)+(sz-sx)*(sz-sx))/2 + 3*txz*txz)
			})
		})
		t.Run("shear along the roll, nu "+trim(nu), func(t *testing.T) {
			if nu == 0.5 {
				t.Skip("σy is then the middle stress: no plane along the roll is the worst")
			}
			compare(t, outOfPlaneShear(nu), func(sx, sz, txz float64) float64 {
				mean, radius := (sx+sz)/2, math.Hypot((sx-sz)/2, txz)
				return (nu*(sx+sz) - (mean - radius)) / 2
			})
		})
	}
}

func trim(v float64) string { return strconv.FormatFloat(v, 'g', -1, 64) }

func TestOutOfPlaneShearLeadsBelowNu02423(t *testing.T) {
	in := inPlaneShear()
	if low := outOfPlaneShear(0.24); low.stress <= in.stress || low.depth >= in.depth {
		t.Errorf("nu 0.24: %+v should be larger and shallower than %+v", low, in)
	}
	if high := outOfPlaneShear(0.2446); high.stress >= in.stress {
		t.Errorf("nu 0.2446: %+v should be smaller than %+v", high, in)
	}
	// The change-over itself, by bisection on the formulas.
	lo, hi := 0.2, 0.3
	for range 60 {
		if mid := (lo + hi) / 2; outOfPlaneShear(mid).stress > in.stress {
			lo = mid
		} else {
			hi = mid
		}
	}
	near(t, "nu of the change-over", lo, 0.2423, 1e-3)
}

func TestFieldMeetsTheSurfaceAndEquilibrium(t *testing.T) {
	for _, x := range []float64{0, 0.3, -0.8, 0.999} {
		sx, sz, txz := Field(x, 0)
		p := math.Sqrt(1 - x*x) // the half-ellipse that loads the surface
		if math.Abs(sz+p) > 1e-12 || math.Abs(sx+p) > 1e-12 || txz != 0 {
			t.Errorf("x %g: surface stresses %g %g %g, want %g %g 0", x, sx, sz, txz, -p, -p)
		}
	}
	if _, sz, txz := Field(1.5, 0); math.Abs(sz) > 1e-12 || math.Abs(txz) > 1e-12 {
		t.Errorf("beside the contact the surface is free: got %g %g", sz, txz)
	}
	for _, z := range []float64{0.3, 1, 4} {
		// Every level carries the whole load: ∫σz dx = −π/2.
		sum := quad.Fixed(func(v float64) float64 {
			// x = z·sinh(v) puts the points where the stress is.
			_, sz, _ := Field(z*math.Sinh(v), z)
			return sz * z * math.Cosh(v)
		}, -12, 12, 400, quad.Legendre{}, 0)
		near(t, "load carried", sum, -math.Pi/2, 1e-6)
	}
	// Inside, the stresses balance: ∂σx/∂x + ∂τ/∂z = 0 and ∂τ/∂x + ∂σz/∂z = 0.
	const h = 1e-5
	for _, p := range [][2]float64{{0.4, 0.6}, {-0.9, 0.2}, {1.3, 0.1}, {0, 2}} {
		x, z := p[0], p[1]
		sxr, _, txr := Field(x+h, z)
		sxl, _, txl := Field(x-h, z)
		_, szd, txd := Field(x, z+h)
		_, szu, txu := Field(x, z-h)
		if a, b := (sxr-sxl+txd-txu)/(2*h), (txr-txl+szd-szu)/(2*h); math.Abs(a)+math.Abs(b) > 1e-8 {
			t.Errorf("x %g z %g: out of balance by %g, %g", x, z, a, b)
		}
	}
}
