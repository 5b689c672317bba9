package finish

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/integrate/quad"
	"pgregory.net/rapid"
)

// TestBivariate holds Plackett's form against the integral of the conditional
// distribution, P = ∫_{−∞}^{h} φ(x)·Φ((k − ρx)/√(1−ρ²)) dx, and against
// Sheppard's closed form at the origin, 1/4 + asin(ρ)/2π (W. F. Sheppard,
// Philosophical Transactions A 192, 1899).
func TestBivariate(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		h, k := rapid.Float64Range(-6, 6).Draw(t, "h"), rapid.Float64Range(-6, 6).Draw(t, "k")
		rho := rapid.Float64Range(0, 0.99).Draw(t, "rho")
		s := math.Sqrt(1 - rho*rho)
		want := quad.Fixed(func(x float64) float64 {
			return math.Exp(-x*x/2) / math.Sqrt(2*math.Pi) * cdf((k-rho*x)/s)
		}, -8, h, 400, quad.Legendre{}, 0)
		tolerance := 1e-8
		if rho > 0.9 {
			tolerance = 1e-4
		}
		if got := bivariate(h, k, rho); math.Abs(got-want) > tolerance {
			t.Fatalf("h %.4f k %.4f rho %.4f: %.10f, want %.10f", h, k, rho, got, want)
		}
	})
	for _, rho := range []float64{0, 0.3, 0.5, 0.9} {
		if got, want := bivariate(0, 0, rho), 0.25+math.Asin(rho)/(2*math.Pi); math.Abs(got-want) > 1e-12 {
			t.Errorf("at the origin, rho %g: %.14f, want %.14f", rho, got, want)
		}
	}
}

func TestPanelsKeepTheNormalDistribution(t *testing.T) {
	var p panels
	for _, upper := range []float64{-8, -3, -1, 0, 2, 6, math.Inf(1)} {
		p.reset(upper)
		p.step(0.5, 0.01)
		if got, want := p.integrate(func(float64) float64 { return 1 }), cdf(upper); math.Abs(got-want) > 1e-11 {
			t.Errorf("up to %g: %.14f, want %.14f", upper, got, want)
		}
	}
	// A step of width w about a: ∫Φ((a−z)/w)φ(z)dz = Φ(a/√(1+w²)), exactly.
	for _, w := range []float64{1e-6, 0.01, 0.3, 0.99, 2} {
		p.reset(math.Inf(1))
		p.step(0.7, w)
		if got, want := p.integrate(func(z float64) float64 { return cdf((0.7 - z) / w) }), cdf(0.7/math.Hypot(1, w)); math.Abs(got-want) > 1e-9 {
			t.Errorf("step of width %g: %.12f, want %.12f", w, got, want)
		}
	}
}
