package rollload

import "math"

// search halves the step until it lessens the merit, and gives up with 0 where
// only a crawl would.
func (s *newton) search(y *system, l law, merit float64) (length, trial float64) {
	for length = 1; length > 1e-3; length /= 2 {
		trial = s.try(y, l, length)
		if trial <= merit*(1-2e-4*length) || s.converged(y) {
			return length, trial
		}
	}
	return 0, 0
}

// try evaluates the unknowns a part of the step ahead.
func (s *newton) try(y *system, l law, length float64) (merit float64) {
	for i := range y.slices {
		s.trialQ[i] = s.q[i] + length*s.step[i]
		s.trialAlpha[i] = s.alpha[i] + length*s.stepAlpha[i]
	}
	return s.evaluate(y, l, s.trialQ, s.trialAlpha)
}

// searchEnergy halves the step until it lessens the energy, of which the
// Newton step is the Newton step too:
//
//	J = ½qᵀAq + ΣΦ(α) − force·y₀ − moment·θ,   Φ = ∫φ dα
//
// J is convex, so from anywhere this leads to the one solution, if more
// slowly. slope is the step's derivative of J.
func (s *newton) searchEnergy(y *system, l law, slope float64) (length, merit float64) {
	start := s.energy(y, l, s.q, s.alpha, 0)
	for length = 1; length > 1e-12; length /= 2 {
		merit = s.try(y, l, length)
		if math.IsInf(merit, 0) {
			continue
		}
		// Differences below rounding say nothing; the step is right then.
		end := s.energy(y, l, s.trialQ, s.trialAlpha, length)
		if end <= start+1e-4*length*slope || -length*slope < 1e-12*math.Abs(start) {
			return length, merit
		}
	}
	return 0, 0
}

// energy is J a part of the step ahead. A·q is read off α.
func (s *newton) energy(y *system, l law, q, alpha []float64, length float64) float64 {
	lift, tilt := s.lift+length*s.stepLift, s.tilt+length*s.stepTilt
	sum := -s.force*lift - s.moment*tilt
	for i, p := range y.position {
		sum += q[i]*(s.apart[i]+lift+tilt*p-alpha[i])/2 + l.Energy(alpha[i])
	}
	return sum
}
