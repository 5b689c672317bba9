package rollforce

import "math"

// The methods here are a mean pressure times the projected area,
//
//	F = p̄·B·√(R'Δh),
//
// and differ in p̄. They serve as cross-checks of the theories and reproduce
// the textbooks' worked examples.

func (in Input) meanPressure(radius, pressure, factor float64) (outcome, error) {
	return outcome{
		force:  pressure * in.WidthMM * math.Sqrt(radius*in.draft()),
		torque: math.NaN(),
		factor: factor,
	}, nil
}

// constantPressure takes p̄ as given.
func (in Input) constantPressure(radius float64) (outcome, error) {
	return in.meanPressure(radius, in.MeanPressureMPa, 0)
}

// measured is the force as the mill reported it; it does not depend on the
// radius, so Hitchcock's equation is solved at once by its own right side.
func (in Input) measured(float64) (outcome, error) {
	return outcome{force: in.MeasuredForceN, torque: math.NaN()}, nil
}

// slipping is the friction hill with one coefficient of friction (Dieter,
// Mechanical Metallurgy, rolling loads; the same as M. D. Stone's):
//
//	p̄ = k·(e^Q − 1)/Q,  Q = μL/h̄,  h̄ = (h₁+h₂)/2
//
// and p̄ = k at μ = 0.
func (in Input) slipping(radius float64) (outcome, error) {
	q := in.Friction * math.Sqrt(radius*in.draft()) / in.meanThickness()
	hill := 1.0
	if q > 0 {
		hill = math.Expm1(q) / q
	}
	return in.meanPressure(radius, in.planeStrain()*hill, hill)
}

// sticking is the friction hill where the strip sticks (Dieter, as above):
//
//	p̄ = k·(1 + L/(4h̄))
func (in Input) sticking(radius float64) (outcome, error) {
	hill := 1 + math.Sqrt(radius*in.draft())/(4*in.meanThickness())
	return in.meanPressure(radius, in.planeStrain()*hill, hill)
}

// hill is R. Hill's fit to the numerical results of the theory of Bland and
// Ford without tension (The Mathematical Theory of Plasticity, 1950, ch. VII),
// for reductions of 0.1 to 0.6 and a bracket up to about 1.7:
//
//	F = k·B·√(R'Δh)·[1.08 + 1.79·μ·r·√(1−r)·√(R'/h₂) − 1.02·r]
//
// Coefficients quoted from memory. The fit is also seen printed with h₁ under
// the root; with h₂, as here, it lies within 3 % of our own Bland and Ford in
// its range (tested), with h₁ up to 19 % below.
func (in Input) hill(radius float64) (outcome, error) {
	r := in.reduction()
	q := 1.08 + 1.79*in.Friction*r*math.Sqrt((1-r)*radius/in.ExitThicknessMM) - 1.02*r
	return in.meanPressure(radius, in.planeStrain()*q, q)
}

func (in Input) meanThickness() float64 { return (in.EntryThicknessMM + in.ExitThicknessMM) / 2 }

// MeanFlowStressMPa is the mean over the pass of the flow curve σ = K·εⁿ,
//
//	σ̄ = K·εⁿ/(1+n),  ε = ln(h₁/h₂)
//
// for K ≥ 0 in MPa, n ≥ 0, h₁ ≥ h₂ > 0. Groover, Fundamentals of Modern
// Manufacturing, average flow stress.
func MeanFlowStressMPa(strengthMPa, exponent, entryMM, exitMM float64) float64 {
	return strengthMPa * math.Pow(math.Log(entryMM/exitMM), exponent) / (1 + exponent)
}
