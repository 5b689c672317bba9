package contact

import "math"

// lambertWm1 is W₋₁(x), the lower real branch of Lambert's function: the
// w ≤ −1 with w·eʷ = x, for −1/e ≤ x < 0.
//
// The fourth-order iteration of Fritsch, Shafer and Crowley (1973, CACM
// algorithm 443) on w + ln(−w) = ln(−x), which cannot overflow however small x
// is: one round more than Halley's method would need is saved for the same
// logarithm. It starts from the asymptotic series (Corless et al., On the
// Lambert W function, 1996, eq. 4.19) or, near the branch point, from the
// series in √(2(1+ex)) (eq. 4.22). Accurate to a few 1e-16 for w < −1.1; nearer
// to the branch point x itself decides w only to the root of that. Outside its
// domain it returns the value at the nearer end: −1 below −1/e, −Inf from 0 on.
func lambertWm1(x float64) float64 {
	if x >= 0 {
		return math.Inf(-1)
	}
	const branch = -0.25 // from here down the series about −1/e starts better
	var w float64
	l1 := math.Log(-x)
	if x < branch {
		p2 := 2 * (1 + math.E*x)
		if p2 <= 0 {
			return -1
		}
		p := -math.Sqrt(p2)
		w = -1 + p*(1-p*(1.0/3-p*(11.0/72-p*43.0/540)))
		if p > -1e-4 {
			return w
		}
	} else {
		l2 := math.Log(-l1)
		r := 1 / l1
		w = l1 - l2 + l2*r*(1+r*((l2-2)/2+r*(6+l2*(2*l2-9))/6))
	}
	// Two rounds do from either start; the bound is there so that no input
	// whatever can keep the loop going.
	for range 4 {
		z := l1 - math.Log(-w) - w
		u := 1 + w // away from 0: the branch point was dealt with above
		q := 2 * u * (u + z*(2.0/3))
		step := z / u * (q - z) / (q - 2*z)
		w += w * step
		if math.Abs(step) < 1e-4 {
			break // what is left is of the order of the step's fourth power
		}
	}
	return w
}
