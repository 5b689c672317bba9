package rollload

import "math"

// direction fills the Newton step of all unknowns and returns its derivative of
// the energy.
func (s *newton) direction(y *system, tilting bool) (slope float64) {
	m := y.slices
	s.active = s.active[:0]
	for i, root := range s.root[:m] {
		if root > 0 {
			s.active = append(s.active, int32(i))
		}
	}
	f := &s.factor
	f.form(y.a, m, s.active, s.root)
	b, e0, e1, idle := f.row(f.n), f.row(f.n+1), f.row(f.n+2), f.row(f.n+3)
	clear(idle)
	for k := len(s.active); k < f.n; k++ {
		b[k], e0[k], e1[k] = 0, 0, 0
	}
	for i := range m {
		s.product[i] = dot(s.residual[:m], y.row(y.a, i))
	}
	for k, at := range s.active {
		b[k], e0[k], e1[k] = s.root[at]*s.product[at], s.root[at], s.root[at]*y.position[at]
	}
	sides := 2
	if tilting {
		sides = 3
	}
	f.decompose(sides)
	s.rigidStep(y, tilting, b, e0, e1)
	for k := range b {
		b[k] += s.stepLift*e0[k] + s.stepTilt*e1[k]
	}
	f.back(b)
	for i, r := range s.residual[:m] {
		s.step[i] = -r
	}
	for k, at := range s.active {
		s.step[at] += s.root[at] * b[k]
	}
	// The energy's gradient is A·r for q, and for y₀ and θ what φ has too much.
	overForce, overMoment := s.offForce, s.offMoment
	for i, p := range y.position {
		overForce -= s.residual[i]
		overMoment -= s.residual[i] * p
		slope += s.product[i] * s.step[i]
		s.stepAlpha[i] = s.stepLift + s.stepTilt*p - dot(s.step[:m], y.row(y.a, i))
	}
	return slope + overForce*s.stepLift + overMoment*s.stepTilt
}

// rigidStep finds dz from the two sums, which a full step is to meet: with the
// columns L⁻¹SE in e0 and e1, and L⁻¹SAr in b,
//
//	(L⁻¹SE)ᵀ(L⁻¹SE)·dz = Eᵀr − (EᵀWq − wanted) − (L⁻¹SE)ᵀ·b
func (s *newton) rigidStep(y *system, tilting bool, b, e0, e1 []float64) {
	g0, g1 := -s.offForce, -s.offMoment
	for i, p := range y.position {
		g0 += s.residual[i]
		g1 += s.residual[i] * p
	}
	g0 -= dot(e0, b)
	h00 := dot(e0, e0)
	s.stepTilt = 0
	if tilting {
		g1 -= dot(e1, b)
		h01, h11 := dot(e0, e1), dot(e1, e1)
		if det := h00*h11 - h01*h01; det > 1e-12*h00*h11 {
			s.stepTilt = (h00*g1 - h01*g0) / det
		} else {
			at := h01 / h00
			s.stepTilt = s.tip(y, at, g1-at*g0)
		}
		g0 -= h01 * s.stepTilt
	}
	s.stepLift = g0 / h00
}

// tip is the tilt for the case of contact in one slice alone, at the place at,
// where the equations leave it open: the moment that is left over turns the
// roll until the next slice touches about as much.
func (s *newton) tip(y *system, at, moment float64) float64 {
	touch, angle := 0.0, math.Inf(1)
	for i, root := range s.root[:y.slices] {
		if root > 0 {
			touch = max(touch, s.alpha[i])
		}
	}
	for i, p := range y.position {
		if arm := math.Copysign(1, moment) * (p - at); s.root[i] == 0 && arm > 0 {
			angle = min(angle, (touch-s.alpha[i])/arm)
		}
	}
	if math.IsInf(angle, 0) {
		return 0
	}
	return math.Copysign(angle, moment)
}
