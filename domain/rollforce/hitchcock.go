package rollforce

import (
	"fmt"
	"math"
)

// NoFlattenedRadiusError says that the roll flattens faster than the force
// can squeeze the strip: Hitchcock's equation has no solution, and in the
// mill the gauge cannot be rolled in one pass on these rolls.
type NoFlattenedRadiusError struct {
	Method                            Method
	EntryThicknessMM, ExitThicknessMM float64
	// MinimumExitThicknessMM is the thinnest exit, at the same reduction and
	// by the same method, for which there is a solution; 0 if none was found.
	MinimumExitThicknessMM float64
}

func (e *NoFlattenedRadiusError) Error() string {
	s := fmt.Sprintf("%s finds no flattened radius from %g to %g mm: the strip is too thin and hard for these rolls",
		e.Method, e.EntryThicknessMM, e.ExitThicknessMM)
	if e.MinimumExitThicknessMM > 0 {
		s += fmt.Sprintf("; at this reduction the minimum gauge is %.4g mm", e.MinimumExitThicknessMM)
	}
	return s + "; use smaller rolls, less friction, more tension or a softer strip"
}

// mostFlattening is how many times the ground radius the flattened one may
// be. Hitchcock's circular arc has lost its meaning long before (Predict warns
// from 2 on), so an answer beyond is none.
const mostFlattening = 1000.0

// HitchcockMM2PerN is C = 16(1−ν²)/(πE) in mm²/N (J. H. Hitchcock, Roll neck
// bearings, ASME 1935): 2.2498e-5 at 206 GPa and ν = 0.3.
func HitchcockMM2PerN(modulusMPa, poisson float64) float64 {
	return 16 * (1 - poisson*poisson) / (math.Pi * modulusMPa)
}

// flattenedRadius solves R' = R·(1 + C·F(R')/(B·Δh)) for its smallest root,
// the one the roll comes to when the load grows from nothing.
func (in Input) flattenedRadius(find law) (float64, error) {
	ratio, err := in.flatteningRatio(find)
	if err != nil {
		return 0, err
	}
	if math.IsNaN(ratio) {
		return 0, &NoFlattenedRadiusError{in.Method, in.EntryThicknessMM, in.ExitThicknessMM, in.minimumExit()}
	}
	return ratio * in.radius(), nil
}

// flatteningRatio is R'/R, or NaN where there is none.
//
// Every force law rises with R', so 1 + cF at any point left of the smallest
// root is still left of it. We walk right from there by at least 3 % a step
// and stop at the first change of sign; where the excess turns up again
// without one, its lowest point between two steps is looked at, so that a
// pair of roots closer than a step is not missed. The walk has an end, so
// this cannot iterate for ever.
func (in Input) flatteningRatio(find law) (float64, error) {
	radius := in.radius()
	scale := HitchcockMM2PerN(in.RollModulusMPa, in.RollPoissonRatio) / (in.WidthMM * in.draft())
	excess := func(ratio float64) (float64, error) {
		o, err := find(ratio * radius)
		return 1 + scale*o.force - ratio, err
	}
	old, oldExcess := 1.0, math.Inf(1)
	at := 1.0
	over, err := excess(at)
	if err != nil {
		return 0, err
	}
	for at < mostFlattening && !math.IsInf(over, 1) && !math.IsNaN(over) {
		next := math.Min(math.Max(at*1.03, at+over), mostFlattening)
		nextOver, err := excess(next)
		if err != nil {
			return 0, err
		}
		if nextOver <= 0 {
			return fallThroughZero(excess, at, next)
		}
		if over < oldExcess && over < nextOver {
			low, lowExcess, err := lowestBetween(excess, old, next)
			if err != nil {
				return 0, err
			}
			if lowExcess <= 0 {
				return fallThroughZero(excess, old, low)
			}
		}
		old, oldExcess, at, over = at, over, next, nextOver
	}
	return math.NaN(), nil
}

// fallThroughZero closes in on the root of f between f(left) > 0 ≥ f(right)
// to 1e-14 of itself: false position with the Illinois halving, and bisection
// where the chord is of no use (an infinite end) or on every third step, so
// that the interval shrinks whatever the shape of f.
func fallThroughZero(f func(float64) (float64, error), left, right float64) (float64, error) {
	above, err := f(left)
	if err != nil {
		return 0, err
	}
	below, err := f(right)
	if err != nil {
		return 0, err
	}
	for step := 1; right-left > 1e-14*right; step++ {
		middle := left + (right-left)*above/(above-below)
		if step%3 == 0 || !(middle > left && middle < right) {
			middle = left + (right-left)/2
		}
		v, err := f(middle)
		if err != nil {
			return 0, err
		}
		if v > 0 {
			left, above, below = middle, v, below/2
		} else {
			right, below, above = middle, v, above/2
		}
		if v == 0 {
			break
		}
	}
	return right, nil
}

// lowestBetween is a golden-section search, left as soon as a value of zero
// or below is met.
func lowestBetween(f func(float64) (float64, error), left, right float64) (at, value float64, err error) {
	const golden = 0.6180339887498949
	for right-left > 1e-9*right {
		a, b := right-golden*(right-left), left+golden*(right-left)
		fa, err := f(a)
		if err != nil {
			return 0, 0, err
		}
		fb, err := f(b)
		if err != nil {
			return 0, 0, err
		}
		if fa <= 0 {
			return a, fa, nil
		}
		if fa < fb {
			right = b
		} else {
			left = a
		}
	}
	at = left + (right-left)/2
	value, err = f(at)
	return at, value, err
}

// minimumExit is the thinnest exit at the same reduction that still has a
// flattened radius, within 1e-6 of itself, always on the side that has; 0 if
// even rolls nearly as thin as the draft find none.
func (in Input) minimumExit() float64 {
	solvable := func(times float64) bool {
		thick := in
		thick.EntryThicknessMM *= times
		thick.ExitThicknessMM *= times
		find, err := thick.check()
		if err != nil {
			return false
		}
		ratio, err := thick.flatteningRatio(find)
		return err == nil && !math.IsNaN(ratio)
	}
	low, high := 1.0, 2.0
	for !solvable(high) {
		if low, high = high, 2*high; high*in.draft() >= in.DiameterMM {
			return 0
		}
	}
	for high-low > 1e-6*high {
		if middle := low + (high-low)/2; solvable(middle) {
			high = middle
		} else {
			low = middle
		}
	}
	return high * in.ExitThicknessMM
}

// StoneMinimumGaugeMM is the thinnest strip that can be rolled at all with
// slipping friction, as the draft goes to nothing:
//
//	h_min = D·C·μ·S / (2·max m²/(e^m − 1)),  max = 0.647610 at m = 1.593624
//
// with S the plane-strain flow stress less the mean tension, MPa. For steel
// rolls with ν = 0.3 that is 3.58·D·μ·S/E, the form M. D. Stone gave in 1953
// (quoted from memory); the constant here is derived from his friction hill
// and Hitchcock's equation, and tested against both. All arguments above 0.
func StoneMinimumGaugeMM(diameterMM, friction, netFlowStressMPa, modulusMPa, poisson float64) float64 {
	const top = 0.6476102378919149 // max over m of m²/(e^m − 1)
	return diameterMM * HitchcockMM2PerN(modulusMPa, poisson) * friction * netFlowStressMPa / (2 * top)
}
