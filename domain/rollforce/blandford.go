package rollforce

import (
	"math"

	"barrelbook/domain/refusal"

	"gonum.org/v1/gonum/integrate/quad"
)

// blandFordPoints is the number of Gauss points on each side of the neutral
// point; the integrand is smooth there, and 24 points give 1e-12.
const blandFordPoints = 24

var blandFordNode, blandFordWeight = func() (x, w []float64) {
	x, w = make([]float64, blandFordPoints), make([]float64, blandFordPoints)
	quad.Legendre{}.FixedLocations(x, w, 0, 1)
	return x, w
}()

// blandFord is the cold strip theory with slipping friction. With k = 2/√3
// times the mean flow stress, taken constant through the gap, entry and exit
// tensions t₁, t₂, and H = 2√(R'/h₂)·atan(√(R'/h₂)·φ), the roll pressure is
//
//	s⁺ = k·(h/h₂)·(1 − t₂/k)·e^{μH}         from the exit to the neutral point
//	s⁻ = k·(h/h₁)·(1 − t₁/k)·e^{μ(H₁−H)}    from there to the entry
//	H_n = H₁/2 − ln[(h₁/h₂)·(1 − t₂/k)/(1 − t₁/k)]/(2μ)
//	F = B·R'·∫ s dφ,  T = B·R·[R'·∫ sφ dφ + (h₁t₁ − h₂t₂)/2] on one roll
//
// μ > 0; 0 ≤ t < k. Where H_n is not inside the gap the rolls skid and the
// pass is refused. The elastic arcs at entry and exit are left out. The torque
// is taken from the pressures rather than from ∫±μs dφ, a small difference of
// large parts; as the theory drops a small term of the equilibrium, the two
// differ by up to some 15 %.
//
// D. R. Bland and H. Ford, The calculation of roll force and torque in cold
// strip rolling with tensions, Proc. Inst. Mech. Eng. 159 (1948) 144. Tested
// against an independent program (1e-8) and against Hill's fit to it.
func (in Input) blandFord(radius float64) (outcome, error) {
	k, mu := in.planeStrain(), in.Friction
	h1, h2 := in.EntryThicknessMM, in.ExitThicknessMM
	pull1, pull2 := 1-in.EntryTensionMPa/k, 1-in.ExitTensionMPa/k
	slender := math.Sqrt(radius / h2)
	end := math.Atan(math.Sqrt(in.draft() / h2)) // θ at entry; H = 2·slender·θ
	entry := 2 * slender * end
	middle := entry/2 - math.Log(h1/h2*pull2/pull1)/(2*mu)
	if middle <= 0 || middle >= entry {
		return outcome{}, refusal.One("friction", refusal.Number(mu),
			"is too low for this draft and tension: no neutral point in the gap, the rolls skid",
			"raise friction, take a smaller draft or even out the tensions")
	}
	neutral := middle / (2 * slender)
	var force, moment float64
	for i, u := range blandFordNode {
		// On θ: h = h₂/cos²θ, φ = tanθ/slender, dφ = dθ/(slender·cos²θ).
		theta := neutral * u
		sec2 := 1 / (math.Cos(theta) * math.Cos(theta))
		s := k * sec2 * pull2 * math.Exp(mu*2*slender*theta) * sec2 * blandFordWeight[i] * neutral
		force += s
		moment += s * math.Tan(theta)

		theta = neutral + (end-neutral)*u
		sec2 = 1 / (math.Cos(theta) * math.Cos(theta))
		s = k * h2 / h1 * sec2 * pull1 * math.Exp(mu*(entry-2*slender*theta)) * sec2 * blandFordWeight[i] * (end - neutral)
		force += s
		moment += s * math.Tan(theta)
	}
	force *= in.WidthMM * radius / slender
	moment *= in.WidthMM * radius / (slender * slender)
	return outcome{
		force:   force,
		torque:  in.radius() * (moment + in.WidthMM*(h1*in.EntryTensionMPa-h2*in.ExitTensionMPa)/2),
		factor:  force / (k * in.WidthMM * math.Sqrt(radius*in.draft())),
		neutral: math.Tan(neutral) / slender,
	}, nil
}

func (in Input) checkBlandFord(c *refusal.Check) {
	flow := c.Positive("mean_flow_stress_mpa", in.MeanFlowStressMPa)
	c.Positive("friction", in.Friction)
	for _, t := range []struct {
		path string
		mpa  float64
	}{{"entry_tension_mpa", in.EntryTensionMPa}, {"exit_tension_mpa", in.ExitTensionMPa}} {
		if c.NotNegative(t.path, t.mpa) && flow && t.mpa >= in.planeStrain() {
			c.Add(t.path, refusal.Number(t.mpa),
				"must be below the plane-strain flow stress "+refusal.Number(in.planeStrain()), "")
		}
	}
}
