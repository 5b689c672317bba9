package rollload

import "math"

// search halves the step until it lessens the merit, and gives up with 0 where
// only a crawl would.
func (s *newton) search(y *system, merit float64) (length, trial float64) {
	for length = 1; length > 1e-3; length /= 2 {
		trial = s.try(y, length)
		if trial <= merit*(1-2e-4*length) || s.converged(y) {
			return length, trial
		}
	}
	return 0, 0
}

// try evaluates the unknowns a part of the step ahead.
func (s *newton) try(y *system, length float64) (merit float64) {
	for i := range y.slices {
		s.trialQ[i] = s.q[i] + length*s.step[i]
		s.trialAlpha[i] = s.alpha[i] + length*s.stepAlpha[i]
	}
	return s.evaluate(y, s.trialQ, s.trialAlpha)
}

// searchEnergy halves the step until it lessens the energy, of which the
// Newton step is the Newton step too:
//
//	J = ½qᵀAq + ΣΦ(α) − Σforce·y₀ − Σmoment·θ,   Φ = ∫φ dα
//
// J is convex, so from anywhere this leads to the one solution, if more
// slowly. slope is the step's derivative of J.
func (s *newton) searchEnergy(y *system, slope float64) (length, merit float64) {
	start := s.energy(y, s.q, s.alpha, 0)
	for length = 1; length > 1e-12; length /= 2 {
		merit = s.try(y, length)
		if math.IsInf(merit, 0) {
			continue
		}
		// Differences below rounding say nothing; the step is right then.
		end := s.energy(y, s.trialQ, s.trialAlpha, length)
		if end <= start+1e-4*length*slope || -length*slope < 1e-12*math.Abs(start) {
			return length, merit
		}
	}
	return 0, 0
}

// energy is J a part of the step ahead. A·q is read off α.
func (s *newton) energy(y *system, q, alpha []float64, length float64) (sum float64) {
	for k := range y.parts {
		m, p := &s.joints[k], &y.parts[k]
		lift, tilt := m.lift+length*m.stepLift, m.tilt+length*m.stepTilt
		sum += -m.force*lift - m.moment*tilt
		for i := p.from; i < p.to; i++ {
			sum += q[i]*(s.apart[i]+lift+tilt*y.position[i]-alpha[i])/2 + m.scale*m.law.Energy(alpha[i])
		}
	}
	return sum
}
