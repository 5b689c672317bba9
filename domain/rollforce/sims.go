package rollforce

import (
	"math"

	"barrelbook/domain/refusal"
)

// sims is the hot strip theory with sticking friction along the whole arc.
// With r = Δh/h₁ and k = 2/√3 times the mean flow stress:
//
//	φ_n = √(h₂/R')·tan{½[atan√(r/(1−r)) + (π/4)·√(h₂/R')·ln(1−r)]}
//	Q_p = (π/2)·√((1−r)/r)·atan√(r/(1−r)) − π/4
//	      − √((1−r)/r)·√(R'/h₂)·[ln(1 + R'φ_n²/h₂) − ½·ln(1/(1−r))]
//	F   = k·B·√(R'Δh)·Q_p
//	T   = R·R'·k·B·(α/2 − φ_n) on one roll, α = √(Δh/R')
//
// For r → 0, Q_p → π/4 + L/(4h) (Orowan and Pascoe's formula). Where the
// strip is so thick for the roll that φ_n would be negative there is no
// neutral point and the pass is refused.
//
// R. B. Sims, The calculation of roll force and torque in hot rolling mills,
// Proc. Inst. Mech. Eng. 168 (1954) 191. Tested against values derived by an
// independent program, relative 1e-6.
func (in Input) sims(radius float64) (outcome, error) {
	r, draft, k := in.reduction(), in.draft(), in.planeStrain()
	stretch := math.Log1p(-r) // ln(h₂/h₁)
	slender := math.Sqrt(radius / in.ExitThicknessMM)
	arc := math.Atan(math.Sqrt(r / (1 - r)))
	half := (arc + math.Pi/4*stretch/slender) / 2
	if half <= 0 {
		return outcome{}, refusal.One("entry_thickness_mm", refusal.Number(in.EntryThicknessMM),
			"is so thick for these rolls that sims finds no neutral point in the gap", "use ekelund, or a smaller reduction")
	}
	t := math.Tan(half) // = φ_n·√(R'/h₂)
	back := math.Sqrt((1 - r) / r)
	q := math.Pi/2*back*arc - math.Pi/4 - back*slender*(math.Log1p(t*t)+stretch/2)
	neutral := t / slender
	return outcome{
		force:   k * in.WidthMM * math.Sqrt(radius*draft) * q,
		torque:  in.radius() * radius * k * in.WidthMM * (math.Sqrt(draft/radius)/2 - neutral),
		factor:  q,
		neutral: neutral,
	}, nil
}
