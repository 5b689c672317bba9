package rollforce

// MaxDraftMM is the greatest draft the rolls can draw in by friction alone,
//
//	Δh ≤ μ²R
//
// with R the ground radius in mm and μ ≥ 0: the friction force at the entry
// edge, μN, must at least balance the pressure's push back, and tan α ≈ √(Δh/R)
// on the parabolic arc. A bar pushed in, or bitten at a thinned nose, can
// take more. Groover, Fundamentals of Modern Manufacturing, flat rolling.
func MaxDraftMM(friction, radiusMM float64) float64 { return friction * friction * radiusMM }

// biteFriction is the coefficient to check the bite with: the one given, or
// Ekelund's own; 0 when there is none.
func (in Input) biteFriction() float64 {
	if in.Friction > 0 {
		return in.Friction
	}
	if in.Method == Ekelund {
		return in.ekelundFriction()
	}
	return 0
}
