package finish

import (
	"math"

	"gonum.org/v1/gonum/integrate/quad"
	"gonum.org/v1/gonum/stat/distuv"
)

// beyond is how many standard deviations are taken for all there is: what lies
// past them is 2.6e-12.
const beyond = 7

// cdf is Φ, the standard normal distribution.
func cdf(x float64) float64 { return math.Erfc(-x/math.Sqrt2) / 2 }

func quantile(p float64) float64 { return distuv.UnitNormal.Quantile(p) }

// plackettNodes are the points of the rule of bivariate, on (0, 1).
var plackettNodes, plackettWeights = legendre(20)

func legendre(n int) (x, w []float64) {
	x, w = make([]float64, n), make([]float64, n)
	quad.Legendre{}.FixedLocations(x, w, 0, 1)
	return x, w
}

// bivariate is P(X ≤ h, Y ≤ k) of two standard normal variables of correlation
// ρ in [0, 1), by Plackett's identity (R. L. Plackett, Biometrika 41, 1954)
//
//	Φ(h)Φ(k) + 1/(2π)·∫₀^{asin ρ} exp(−(h²+k²−2hk·sin θ)/(2cos²θ)) dθ
//
// and Gauss and Legendre's rule of 20 points: 1e-8 up to ρ = 0.9, 1e-4 at 0.99
// (tested against quadrature of the conditional distribution).
func bivariate(h, k, rho float64) float64 {
	switch {
	case h < -beyond || k < -beyond:
		return 0
	case h > beyond:
		return cdf(k)
	case k > beyond:
		return cdf(h)
	}
	p := cdf(h) * cdf(k)
	if rho <= 0 {
		return p
	}
	end, squares, product, sum := math.Asin(rho), (h*h+k*k)/2, h*k, 0.0
	for i, x := range plackettNodes {
		s := math.Sin(end * x)
		sum += plackettWeights[i] * math.Exp((product*s-squares)/(1-s*s))
	}
	return p + sum*end/(2*math.Pi)
}

// rule is a set of points and weights for ∫ f(x)φ(x) dx from −∞ to an upper
// end, φ the standard normal density.
type rule struct {
	unitX, unitW []float64 // Legendre on (0, 1)
	x, w         []float64 // Legendre between −beyond and the upper end
	hermX, hermW []float64 // without an end
}

// newRule prepares rules. steep is how steep the integrand is beside φ: the
// ratio of standard deviations.
func newRule(steep float64) *rule {
	n := int(min(max(32, 24*steep), 256))
	r := &rule{x: make([]float64, n), w: make([]float64, n)}
	r.unitX, r.unitW = legendre(n)
	if steep > 2 {
		// Hermite's points are too far apart for a step; Legendre's are closer.
		r.hermX, r.hermW = make([]float64, n), make([]float64, n)
		r.fill(r.hermX, r.hermW, beyond)
		return r
	}
	const points = 20
	r.hermX, r.hermW = make([]float64, points), make([]float64, points)
	quad.Hermite{}.FixedLocations(r.hermX, r.hermW, math.Inf(-1), math.Inf(1))
	for i := range r.hermX {
		r.hermX[i] *= math.Sqrt2
		r.hermW[i] /= math.Sqrt(math.Pi)
	}
	return r
}

func (r *rule) fill(x, w []float64, upper float64) {
	width := upper + beyond
	for i := range x {
		x[i] = -beyond + width*r.unitX[i]
		w[i] = width * r.unitW[i] * math.Exp(-x[i]*x[i]/2) / math.Sqrt(2*math.Pi)
	}
}

// upTo gives the points and weights below the upper end. They belong to the
// rule and are overwritten by the next call with an end.
func (r *rule) upTo(upper float64) (x, w []float64) {
	if upper > beyond {
		return r.hermX, r.hermW
	}
	if upper <= -beyond {
		return nil, nil
	}
	r.fill(r.x, r.w, upper)
	return r.x, r.w
}
