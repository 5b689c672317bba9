package rollload

import "math"

// direction fills the step of all unknowns, by the left side given, and returns
// its derivative of the energy.
func (s *newton) direction(y *system, d *held) (slope float64) {
	n, f := y.slices, &d.factor
	for i := range n {
		s.product[i] = dot(s.residual[:n], y.row(y.a, i))
	}
	b := s.right[:f.n]
	clear(b)
	for k, at := range d.active {
		b[k] = d.root[at] * s.product[at]
	}
	f.forward(b)
	s.rigidStep(y, d, b)
	for c := range d.columns {
		dz := s.dz[c]
		for k, v := range f.row(f.n + c) {
			b[k] += dz * v
		}
	}
	f.back(b)
	for i, r := range s.residual[:n] {
		s.step[i] = -r
	}
	for k, at := range d.active {
		s.step[at] += d.root[at] * b[k]
		s.stepAlpha[at] = b[k] / d.root[at] // as the equations have it, without A·dq
	}
	// The energy's gradient is A·r for q, and for y₀ and θ what φ has too much.
	for k := range y.parts {
		m, p := &s.joints[k], &y.parts[k]
		overForce, overMoment := m.offForce, m.offMoment
		for i := p.from; i < p.to; i++ {
			overForce -= s.residual[i]
			overMoment -= s.residual[i] * y.position[i]
			slope += s.product[i] * s.step[i]
			if d.root[i] == 0 { // parted
				s.stepAlpha[i] = m.stepLift + m.stepTilt*y.position[i] - dot(s.step[:n], y.row(y.a, i))
			}
		}
		slope += overForce*m.stepLift + overMoment*m.stepTilt
	}
	return slope
}

// rigidStep finds dz from the sums, which a full step is to meet: with L⁻¹SAr
// as b,
//
//	h·dz = Eᵀr − (EᵀWq − wanted) − (L⁻¹SE)ᵀ·b
func (s *newton) rigidStep(y *system, d *held, b []float64) {
	lifts := len(y.parts)
	for k := range y.parts {
		m, p := &s.joints[k], &y.parts[k]
		force, moment := -m.offForce, -m.offMoment
		for i := p.from; i < p.to; i++ {
			force += s.residual[i]
			moment += s.residual[i] * y.position[i]
		}
		s.g[k] = force
		if s.tilting {
			s.g[lifts+k] = moment
		}
	}
	for i := range d.columns {
		s.g[i] -= dot(d.factor.row(d.factor.n+i), b)
	}
	for i := range d.columns {
		for j := i + 1; !d.open[i] && j < d.columns; j++ {
			s.g[j] -= d.h[i][j] / d.h[i][i] * s.g[i]
		}
	}
	for i := d.columns - 1; i >= 0; i-- {
		rest := s.g[i]
		for j := i + 1; j < d.columns; j++ {
			rest -= d.h[i][j] * s.dz[j]
		}
		if d.open[i] {
			s.dz[i] = s.tip(y, i-lifts, d.at[i], rest)
		} else {
			s.dz[i] = rest / d.h[i][i]
		}
	}
	for k := range y.parts {
		m := &s.joints[k]
		m.stepLift, m.stepTilt = s.dz[k], 0
		if s.tilting {
			m.stepTilt = s.dz[lifts+k]
		}
	}
}

// tip is the tilt for the case of contact in one slice alone, at the place at,
// where the equations leave it open: the moment that is left over turns the
// roll until the next slice touches about as much.
func (s *newton) tip(y *system, joint int, at, moment float64) float64 {
	touch, angle := 0.0, math.Inf(1)
	p := &y.parts[joint]
	for i := p.from; i < p.to; i++ {
		if s.root[i] > 0 {
			touch = max(touch, s.alpha[i])
		}
	}
	for i := p.from; i < p.to; i++ {
		if arm := math.Copysign(1, moment) * (y.position[i] - at); s.root[i] == 0 && arm > 0 {
			angle = min(angle, (touch-s.alpha[i])/arm)
		}
	}
	if math.IsInf(angle, 0) {
		return 0
	}
	return math.Copysign(angle, moment)
}
