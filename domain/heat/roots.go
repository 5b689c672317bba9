package heat

import "math"

// root gives zₙ, n = 1, 2, …, the n-th positive root of
//
//	z·J₁(z) = Bi·J₀(z)
//
// for Bi in [1e-6, 1e4]. J₀ and J₁ have opposite signs between the n-th zero
// of J₀, below (n−1/8)π, and the n-th zero of J₁, above nπ, so no root lies
// there; and between those gaps there is exactly one. Hence
//
//	(n − 17/16)π < zₙ < (n − 1/16)π
//
// brackets it for any Bi, with 0 as the lower end for n = 1. Newton from the
// middle, with bisection where a step leaves the bracket; to about
// 1e-14 relative, tested to 1e-10.
//
// Carslaw and Jaeger, Conduction of Heat in Solids, 2nd ed., §7.7 and table
// III; Incropera, table of cylinder roots.
func root(n int, bi float64) float64 {
	low, high := math.Max(0, (float64(n)-17.0/16)*math.Pi), (float64(n)-1.0/16)*math.Pi
	rising := n%2 == 1 // the sign of f at the upper end
	z := (low + high) / 2
	for range 100 {
		j0, j1 := math.J0(z), math.J1(z)
		f := z*j1 - bi*j0
		if (f > 0) == rising {
			high = z
		} else {
			low = z
		}
		next := z - f/(z*j0+bi*j1)
		if !(next > low && next < high) {
			next = low + (high-low)/2
		}
		if math.Abs(next-z) <= 2e-15*z {
			return next
		}
		z = next
	}
	return z
}
