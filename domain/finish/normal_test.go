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

func TestRuleKeepsTheNormalDistribution(t *testing.T) {
	for _, steep := range []float64{0.1, 1, 3, 50} {
		r := newRule(steep)
		for _, upper := range []float64{-3, -1, 0, 2, 6, math.Inf(1)} {
			_, w := r.upTo(upper)
			sum := 0.0
			for _, v := range w {
				sum += v
			}
			if want := cdf(upper); math.Abs(sum-want) > 1e-10 {
				t.Errorf("steep %g, up to %g: %.14f, want %.14f", steep, upper, sum, want)
			}
		}
	}
}
