package heat

import "math"

// series holds the roots for one Biot number, made as far as asked for.
type series struct {
	bi    float64
	roots []float64
}

// profile is the excess over ambient as a part of that at the start.
type profile struct{ mean, centre, surface float64 }

// shortestFourier is the Fourier number below which the short-time form takes
// over: there the series would need more than some 2,000 terms, and the form's
// own error is below 1e-6.
const shortestFourier = 1e-6

// at evaluates the profile at the Fourier number Fo = at/R² ≥ 0, exactly 1
// everywhere at 0:
//
//	θ(r) = Σ Cₙ·e^(−zₙ²Fo)·J₀(zₙr/R),  Cₙ = 2J₁(zₙ)/{zₙ[J₀²(zₙ)+J₁²(zₙ)]}
//	     mean: J₀(zₙr/R) replaced by 2J₁(zₙ)/zₙ
//
// Carslaw and Jaeger §7.7; Incropera ch. 5. Terms are added until the
// exponential is below e⁻⁴⁰.
func (s *series) at(fourier float64) profile {
	if fourier == 0 {
		return profile{1, 1, 1}
	}
	if fourier < shortestFourier {
		return shortTime(s.bi, fourier)
	}
	var p profile
	for n := 1; ; n++ {
		if n > len(s.roots) {
			s.roots = append(s.roots, root(n, s.bi))
		}
		z := s.roots[n-1]
		decay := math.Exp(-z * z * fourier)
		c, j0, ratio := coefficient(z, s.bi)
		p.centre += c * decay
		p.surface += c * decay * j0
		p.mean += c * decay * ratio
		if z*z*fourier > 40 {
			break
		}
	}
	return p.clamped()
}

// coefficient gives Cₙ, J₀(zₙ) and 2J₁(zₙ)/zₙ at a root. As zJ₁ = BiJ₀ there,
// either Bessel value gives the other and
//
//	Cₙ = 2Bi/[(z²+Bi²)·J₀] = 2Bi²/[(z²+Bi²)·z·J₁]
//
// We take the larger of the two, because the other is near its zero and would
// lose digits: J₀ where z > Bi, J₁ where Bi is the greater.
func coefficient(z, bi float64) (c, j0, ratio float64) {
	if z > bi {
		j0 = math.J0(z)
		return 2 * bi / ((z*z + bi*bi) * j0), j0, 2 * bi * j0 / (z * z)
	}
	j1 := math.J1(z)
	return 2 * bi * bi / ((z*z + bi*bi) * z * j1), z * j1 / bi, 2 * j1 / z
}

// clamped takes off the last bit of rounding, so that no temperature leaves
// the span between ambient and start.
func (p profile) clamped() profile {
	within := func(v float64) float64 { return math.Min(math.Max(v, 0), 1) }
	return profile{within(p.mean), within(p.centre), within(p.surface)}
}

// shortTime is the profile while the chill has only reached a skin. The
// Laplace transform of the surface's change has q·I₁(q)/I₀(q) = q − 1/2 − …
// in it, q = √p, which gives, with b = Bi − 1/2 and x = b√Fo,
//
//	1 − θ_surface = Bi·(1 − e^(x²)·erfc x)/b
//	1 − θ_mean    = 2Bi·∫₀^Fo θ_surface dFo
//
// the centre not yet feeling it. The error is of order Fo relative to the
// change. Near b = 0 the series e^(x²)·erfc x = Σ(−x)ᵏ/Γ(k/2+1) avoids the
// cancellation. Derived from Carslaw and Jaeger §13.3's method.
func shortTime(bi, fourier float64) profile {
	b := bi - 0.5
	root := math.Sqrt(fourier)
	x := b * root
	var change, integral float64 // of (1 − e^(x²)erfc x)/b at Fo, and from 0 to Fo
	if math.Abs(x) < 0.5 {
		power := root // −(−1)ᵏ·b^(k−1)·Fo^(k/2)
		for k := 1; k <= 40; k++ {
			half := float64(k) / 2
			term := power / math.Gamma(half+1)
			change += term
			integral += term * fourier / (half + 1)
			power *= -x
		}
	} else {
		scaled := math.Exp(x*x) * math.Erfc(x)
		change = (1 - scaled) / b
		integral = (fourier - (scaled-1+2*x/math.SqrtPi)/(b*b)) / b
	}
	return profile{
		mean:    1 - 2*bi*(fourier-bi*integral),
		centre:  1,
		surface: 1 - bi*change,
	}.clamped()
}
