package contact

import "math"

// Field is the stress below the contact, in units of the peak pressure p₀, at
// x and z in half-widths b; z ≥ 0 points into the body. McEwen's closed form
// (Johnson, Contact Mechanics, eq. 4.49), with
//
//	m² = ½(√((1−x²+z²)² + 4x²z²) + (1−x²+z²)),   n² the same with − before the second term
//	σx = −m(1 + (z²+n²)/(m²+n²)) + 2z
//	σz = −m(1 − (z²+n²)/(m²+n²))
//	τxz = −n·(m²−z²)/(m²+n²)      n with the sign of x
//
// The stress along the roll is σy = ν(σx+σz), plane strain. Finite everywhere;
// the edges x = ±1 of the contact at z = 0 give 0.
func Field(x, z float64) (sx, sz, txz float64) {
	a := 1 - x*x + z*z
	root := math.Hypot(a, 2*x*z)
	if root == 0 {
		return 0, 0, 0
	}
	// root = m² + n². The smaller of m² and n² comes from the product
	// m·n = |x|·z: the difference in its formula would cancel.
	var m, n float64
	if a >= 0 {
		m = math.Sqrt((root + a) / 2)
		n = math.Abs(x) * z / m
	} else {
		n = math.Sqrt((root - a) / 2)
		m = math.Abs(x) * z / n
	}
	share := (z*z + n*n) / root
	sx = -m*(1+share) + 2*z
	sz = -m * (1 - share)
	txz = -math.Copysign(n, x) * (m*m - z*z) / root
	return sx, sz, txz
}

// peak is a greatest stress in units of p₀ and its depth in half-widths.
type peak struct{ stress, depth float64 }

// The greatest values of the field have closed forms. On the axis x = 0, where
// all but the orthogonal one lie, put s = z/√(1+z²):
//
//	σx + σz = −2(√(1+z²) − z),   (σx − σz)/2 = z(1 − s)
//
// and setting the derivative to zero leaves a polynomial in s. The tests search
// the whole plane of the field for each of them.

// inPlaneShear is the greatest (σ₁−σ₃)/2 in the plane across the roll:
// (s−1)(s²+s−1) = 0, so s is the golden section; 0.300283 at 0.786151.
func inPlaneShear() peak {
	s := (math.Sqrt(5) - 1) / 2
	z := depthOf(s)
	return peak{z * (1 - s), z}
}

// orthogonalShear is the greatest |τxz|, 1/4 at depth 1/2 below x = ±√3/2.
func orthogonalShear() peak { return peak{0.25, 0.5} }

// outOfPlaneShear is the greatest (σy−σz)/2, in the plane along the roll:
//
//	½/√(1+z²) − ν(√(1+z²) − z),   s² + s − 2ν = 0
//
// Below ν ≈ 0.2423 it is larger than the shear in the plane, and shallower.
func outOfPlaneShear(nu float64) peak {
	s := (math.Sqrt(1+8*nu) - 1) / 2
	if s >= 1 { // ν = 1 only; kept so that the depth cannot overflow
		return peak{}
	}
	z := depthOf(s)
	root := math.Hypot(1, z)
	return peak{0.5/root - nu*(root-z), z}
}

// vonMises is the greatest von Mises stress for the body's own ν:
//
//	(√(1+z²) − z)·√(k + 3s²),   k = (1−2ν)²,   3s³ + 3s² − 3s + k = 0
//
// The cubic's largest root by the cosine form; for k > 5/9 (ν < 0.127) it has
// none and the maximum 1−2ν is on the surface, as it may be for larger ν too.
func vonMises(nu float64) peak {
	k := (1 - 2*nu) * (1 - 2*nu)
	surface := peak{1 - 2*nu, 0}
	if k >= 5.0/9 {
		return surface
	}
	s := 4.0/3*math.Cos(math.Acos(-(11+9*k)/16)/3) - 1.0/3
	z := depthOf(s)
	below := peak{(math.Hypot(1, z) - z) * math.Sqrt(k+3*s*s), z}
	if surface.stress > below.stress {
		return surface
	}
	return below
}

// depthOf is z for s = z/√(1+z²).
func depthOf(s float64) float64 { return s / math.Sqrt(1-s*s) }
