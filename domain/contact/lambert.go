package contact

import "math"

// lambertWm1 is W₋₁(x), the lower real branch of Lambert's function: the
// w ≤ −1 with w·eʷ = x, for −1/e ≤ x < 0.
//
// It starts from the formula of Barry et al. (2000, Mathematics and Computers
// in Simulation 53, 95), good to 3e-4 over the whole branch, and improves it by
// the fourth-order iteration of Fritsch, Shafer and Crowley (1973, CACM
// algorithm 443) on w + ln(−w) = ln(−x), which cannot overflow however small x
// is. Two logarithms in all: Halley's method takes one more for the same digits.
// Accurate to a few 1e-15 for w < −1.1; nearer to the branch point x itself
// decides w only to the root of that. Outside its domain it returns the value
// at the nearer end: −1 below −1/e, −Inf from 0 on.
func lambertWm1(x float64) float64 {
	if x >= 0 {
		return math.Inf(-1)
	}
	l := math.Log(-x)
	s := -1 - l
	if s <= 0 {
		return -1
	}
	const m1, m2, m3 = 0.3361, -0.0042, 0.0201
	root := math.Sqrt(s)
	y := m3 * root
	// Barry's exp(−y), y < 0.6, by its series: the iteration forgives it.
	decay := 1 / (1 + y*(1+y*(0.5+y*(1.0/6))))
	w := -1 - s - 2/m1*(1-1/(1+m1*root*(math.Sqrt2/2)/(1+m2*s*decay)))
	if s < 1e-8 {
		return w // w+1 is as good as s now, and would divide by next to nothing
	}
	// One round does; the second is for the ends, and the bound is there so
	// that no input whatever can keep the loop going.
	for range 3 {
		z := l - math.Log(-w) - w
		u := 1 + w
		q := 2 * u * (u + z*(2.0/3))
		step := z / u * (q - z) / (q - 2*z)
		w += w * step
		if math.Abs(step) < 5e-4 {
			break // what is left is of the order of the step's fourth power
		}
	}
	return w
}
