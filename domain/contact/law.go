package contact

import (
	"math"

	"barrelbook/domain/refusal"
)

// Law is the contact of one pair of rolls with everything that does not depend
// on the load worked out beforehand, for loops that ask for it at every slice
// of a barrel. Its methods allocate nothing and check nothing: build it with
// [NewLaw], which checks.
//
// With K = 2/(πE*) and the formula of [Law.Approach] the load enters only as
//
//	α = −(K/2)·q·ln(q/Q),   Q = exp(2·Σᵢkᵢ·(ln 2Rᵢ + c)/K)·πE*/(4R),   kᵢ = 2(1−νᵢ²)/(πEᵢ)
//
// so one logarithm gives α, and Lambert's W₋₁ gives q back.
type Law struct {
	effectiveModulus float64 // E*, MPa
	effectiveRadius  float64 // R, mm
	halfK            float64 // K/2, mm²/N
	scale            float64 // Q, N/mm
	invScale         float64 // 1/Q
	invApproach      float64 // 2/(K·Q), 1/mm
	lastApproach     float64 // α at w = steepest, mm
	lastLoad         float64 // q there, N/mm
	widestHalfWidth  float64 // half the smaller radius, mm
}

// steepest is the value of w = ln(q/Q) from which LineLoad goes on as a
// straight line. The closed form ends at w = −1, where the formula for α
// turns back; there the contact would be wider than the rolls are thick.
const steepest = -1.5

// NewLaw prepares the contact of work and backup with the constant c of the
// approach, [Foeppl] or [Johnson]; it must lie in −0.5 … 2. It refuses bodies
// that are none.
func NewLaw(work, backup Body, approachConstant float64) (Law, error) {
	var c refusal.Check
	work.Check(&c, "work")
	backup.Check(&c, "backup")
	c.Within("approach_constant", approachConstant, minApproachConstant, maxApproachConstant)
	if err := c.Err(); err != nil {
		return Law{}, err
	}
	sum := work.compliance() + backup.compliance()
	l := Law{
		effectiveModulus: 1 / sum,
		effectiveRadius:  1 / (2/work.DiameterMM + 2/backup.DiameterMM),
		halfK:            sum / math.Pi,
		widestHalfWidth:  math.Min(work.DiameterMM, backup.DiameterMM) / 4,
	}
	logs := work.compliance()*math.Log(work.DiameterMM) + backup.compliance()*math.Log(backup.DiameterMM)
	l.scale = math.Exp(2*(logs/sum+approachConstant)) * math.Pi * l.effectiveModulus / (4 * l.effectiveRadius)
	l.invScale = 1 / l.scale
	l.invApproach = 1 / (l.halfK * l.scale)
	l.lastLoad = l.scale * math.Exp(steepest)
	l.lastApproach = -l.halfK * l.lastLoad * steepest
	for _, v := range [...]float64{l.effectiveModulus, l.effectiveRadius, l.halfK, l.invScale, l.invApproach, l.lastLoad, l.lastApproach} {
		if math.IsNaN(v) || math.IsInf(v, 0) || v <= 0 {
			return Law{}, refusal.One("work", "", "and backup differ by more than a number can hold", "check units of diameter and modulus")
		}
	}
	return l, nil
}

// EffectiveModulusMPa is E*, 1/E* = (1−ν₁²)/E₁ + (1−ν₂²)/E₂ (Johnson eq. 4.38).
func (l *Law) EffectiveModulusMPa() float64 { return l.effectiveModulus }

// HalfWidth is b = √(4qR/(πE*)) in mm for a line load q ≥ 0 in N/mm (Johnson
// eq. 4.43); b is half of the width that touches.
func (l *Law) HalfWidth(q float64) float64 {
	return math.Sqrt(4 * q * l.effectiveRadius / (math.Pi * l.effectiveModulus))
}

// PeakPressure is p₀ = √(qE*/(πR)) in MPa for q ≥ 0 in N/mm (Johnson eq. 4.45).
func (l *Law) PeakPressure(q float64) float64 {
	return math.Sqrt(q * l.effectiveModulus / (math.Pi * l.effectiveRadius))
}

// Approach is α, by how many mm the axes of the two rolls come nearer to each
// other under a line load q in N/mm, and 0 for q ≤ 0:
//
//	α = Σᵢ 2q(1−νᵢ²)/(πEᵢ)·[ln(2Rᵢ/b) + c]
//
// b is the half-width (taking the full width instead is the known mistake).
// Johnson, Contact Mechanics, eq. 5.57 for c = ln 2 − 1/2; Föppl's form for
// c = 1/3.
func (l *Law) Approach(q float64) float64 {
	if q <= 0 {
		return 0
	}
	if q > l.lastLoad {
		return l.lastApproach + (q-l.lastLoad)*l.halfK*(-1-steepest)
	}
	return -l.halfK * q * math.Log(q*l.invScale)
}

// LineLoad is the inverse of [Law.Approach]: the line load q in N/mm that
// brings the axes nearer by alpha mm, and its slope dq/dα in N/mm². Both are 0
// for alpha ≤ 0, where the rolls have parted.
//
//	w = W₋₁(−2α/(KQ)),   q = −2α/(K·w),   dq/dα = −2/(K·(w+1))
//
// It rises with alpha everywhere and has no jump. Beyond any contact Hertz's
// theory covers (w > −1.5, the half-width larger than the radius) it goes on as
// a straight line, so that an iteration can pass there; see [Law.InRange].
func (l *Law) LineLoad(alpha float64) (q, slope float64) {
	if alpha <= 0 {
		return 0, 0
	}
	if alpha >= l.lastApproach {
		slope = 1 / (l.halfK * (-1 - steepest))
		return l.lastLoad + (alpha-l.lastApproach)*slope, slope
	}
	w := lambertWm1(-alpha * l.invApproach)
	return -alpha / (l.halfK * w), -1 / (l.halfK * (w + 1))
}

// Energy is ∫q dα from 0 to alpha, the work in N that a unit length of the contact has
// stored, and 0 for alpha ≤ 0; its derivative is [Law.LineLoad].
//
//	∫q dα = qα − ∫α dq = ½qα − (K/8)q²
func (l *Law) Energy(alpha float64) float64 {
	if alpha <= 0 {
		return 0
	}
	if alpha > l.lastApproach {
		q, _ := l.LineLoad(alpha)
		return l.Energy(l.lastApproach) + (alpha-l.lastApproach)*(q+l.lastLoad)/2
	}
	q, _ := l.LineLoad(alpha)
	return q*alpha/2 - l.halfK/4*q*q
}

// InRange tells whether q leaves the contact narrow enough for Hertz's theory:
// the half-width at most half of the smaller radius.
func (l *Law) InRange(q float64) bool { return l.HalfWidth(q) <= l.widestHalfWidth }
