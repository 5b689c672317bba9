package rollload

import (
	"cmp"
	"errors"
	"math"
)

// ErrNotConverged says that the iteration gave up. Inputs that pass the checks
// are not known to bring it about.
var ErrNotConverged = errors.New("the load along the barrel was not found within the allowed iterations")

const (
	maxIterations = 200
	patience      = 20 // iterations before the search goes by energy
	// A fresh factor is worth (slices/dearAt)^dearBy steps with the one at hand
	// (tried).
	dearAt, dearBy = 36, 2.5
	// tolerance is the largest residual that ends the iteration, over the mean
	// line load.
	tolerance = 1e-11
)

// newton finds the line load of each slice of y. The unknowns are q and, for
// each joint, the rigid lift y₀ of the roll in front against the roll behind
// and, where the halves differ, its tilt θ:
//
//	r = q − φ(α) = 0,   α = y₀ + θξ + apart − A·q
//	Σq·w = force,   Σq·ξ·w = moment      for each joint
//
// with φ the contact, apart what strip, bending and profiles alone put between
// the rolls, w the width of a slice and ξ its position from −1 to 1. With
// D = φ'(α), S = √D and dq = S·t − r a Newton step is
//
//	(I + S·A·S)·t = S·(A·r + E·dz),   dz = (dy₀, dθ) of the joints
//
// where E has a column 1 and a column ξ for each joint, 0 outside it, and dz
// follows from the sums. D is 0 where the rolls have parted, so those slices
// drop out of the equations by themselves and come back as α rises. A step is
// halved until it lessens Σr² enough (Armijo), or the energy where that leads
// nowhere.
//
// A step with an older factor costs a fraction of one with a fresh factor and, as
// the slope of a contact hardly changes with its load, does nearly as well. So
// the first steps go with the factor that the coefficients bring along, of
// contacts that touch everywhere; a fresh one is made where that no longer helps,
// and used again for as long as it does.
//
// On return q keeps the sums exactly, is free of negative values, and alpha
// belongs to it.
type newton struct {
	q, apart, alpha, residual []float64
	root                      []float64 // S
	step, stepAlpha, product  []float64
	trialQ, trialAlpha        []float64
	right                     []float64 // S·A·r
	made                      held      // the factor made last
	joints                    [mostJoints]motion
	tilting                   bool
	g, dz                     [mostColumns]float64
}

// motion is the rigid part of a joint and the sums it must keep.
type motion struct {
	law                law
	scale              float64
	lift, tilt         float64 // y₀ and θ per ξ, mm
	stepLift, stepTilt float64
	force, moment      float64 // the sums wanted, over w
	offForce           float64 // what the sums lack
	offMoment          float64
	floor              float64 // residual that rounding may leave, N/mm
}

// lineLoad is φ and its slope for the unknowns, which are scaled.
func (m *motion) lineLoad(alpha float64) (q, slope float64) {
	q, slope = m.law.LineLoad(alpha)
	return m.scale * q, m.scale * slope
}

func newNewton(joints []joint) newton {
	slices := 0
	for k := range joints {
		slices += len(joints[k].centres)
	}
	pool := make([]float64, 10*slices)
	next := func() (s []float64) {
		s, pool = pool[:slices:slices], pool[slices:]
		return s
	}
	n := newton{
		q: next(), apart: next(), alpha: next(), residual: next(), root: next(),
		step: next(), stepAlpha: next(), product: next(), trialQ: next(), trialAlpha: next(),
		right: make([]float64, slices+1), made: newHeld(slices),
	}
	for k := range joints {
		n.joints[k].law, n.joints[k].scale = joints[k].law, joints[k].scale
	}
	return n
}

// solve expects apart and the sums wanted to be set.
func (s *newton) solve(y *system) (iterations int, err error) {
	s.tilting = !y.folded
	s.start(y)
	merit := s.evaluate(y, s.q, s.alpha)
	byEnergy, use := false, y.touching
	for iterations < maxIterations {
		iterations++
		if use == nil {
			s.made.make(y, s.root)
		}
		slope := s.direction(y, cmp.Or(use, &s.made))
		// Only a few stacks that touch in a slice or two get this far without
		// an answer.
		byEnergy = byEnergy || iterations > patience
		length, trial := s.search(y, merit)
		if length == 0 && use != nil { // the factor does not suit
			merit, use = s.evaluate(y, s.q, s.alpha), nil
			continue
		}
		if length == 0 || byEnergy {
			byEnergy = true
			if length, trial = s.searchEnergy(y, slope); length == 0 {
				return iterations, ErrNotConverged
			}
		}
		switch {
		case byEnergy || !s.near(y, merit, trial):
			use = nil
		case use == nil:
			use = &s.made
		}
		merit = trial
		s.q, s.trialQ = s.trialQ, s.q
		s.alpha, s.trialAlpha = s.trialAlpha, s.alpha
		for k := range y.parts {
			m := &s.joints[k]
			m.lift += length * m.stepLift
			m.tilt += length * m.stepTilt
		}
		if s.converged(y) && s.confirmed(y) {
			for i, v := range s.q[:y.slices] {
				s.q[i] = max(v, 0)
			}
			return iterations, nil
		}
	}
	return iterations, ErrNotConverged
}

// near tells whether steps that bring Σr² down as the last one did get to the end
// sooner than a fresh factor would.
func (s *newton) near(y *system, before, now float64) bool {
	m, count := &s.joints[0], float64(y.parts[0].to-y.parts[0].from)
	limit := tolerance*m.force/count + m.floor
	steps := math.Log(now/(limit*limit*count)) / math.Log(before/now)
	return now < before && steps < 1+math.Pow(float64(y.slices)/dearAt, dearBy)
}

// start guesses a straight line of q along each joint that has the wanted sums,
// and the rigid position that suits it best on the whole.
func (s *newton) start(y *system) {
	for k := range y.parts {
		m, p := &s.joints[k], &y.parts[k]
		slope := 0.0
		if s.tilting {
			slope = m.moment / spread(y.position[p.from:p.to])
		}
		for i := p.from; i < p.to; i++ {
			s.q[i] = m.force/float64(p.to-p.from) + slope*y.position[i]
		}
	}
	for k := range y.parts {
		m, p := &s.joints[k], &y.parts[k]
		count, about, largest := float64(p.to-p.from), spread(y.position[p.from:p.to]), 0.0
		m.lift, m.tilt = 0, 0
		for i := p.from; i < p.to; i++ {
			s.alpha[i] = s.apart[i] - dot(s.q[:y.slices], y.row(y.a, i))
			gap := m.law.Approach(s.q[i]/m.scale) - s.alpha[i]
			m.lift += gap / count
			m.tilt += gap * y.position[i] / about
			largest = max(largest, math.Abs(s.alpha[i]))
		}
		if !s.tilting {
			m.tilt = 0
		}
		for i := p.from; i < p.to; i++ {
			s.alpha[i] += m.lift + m.tilt*y.position[i]
		}
		_, stiffness := m.lineLoad(m.law.Approach(m.force / count / m.scale))
		m.floor = 1e-14 * largest * stiffness
	}
}

func spread(position []float64) (sum float64) {
	for _, p := range position {
		sum += p * p
	}
	return sum
}

// evaluate fills residual and root for a trial and returns the squares of all
// that is not yet zero.
func (s *newton) evaluate(y *system, q, alpha []float64) (merit float64) {
	for k := range y.parts {
		m, p := &s.joints[k], &y.parts[k]
		offForce, offMoment, touching := -m.force, -m.moment, false
		for i := p.from; i < p.to; i++ {
			load, slope := m.lineLoad(alpha[i])
			r := q[i] - load
			s.residual[i], s.root[i] = r, math.Sqrt(slope)
			touching = touching || slope > 0
			merit += r * r
			offForce += q[i]
			offMoment += q[i] * y.position[i]
		}
		if !touching { // nothing to hold on to for a next step: not a way to go
			return math.Inf(1)
		}
		if y.folded { // the other half answers for the moment
			offMoment = 0
		}
		m.offForce, m.offMoment = offForce, offMoment
		merit += (offForce*offForce + offMoment*offMoment) / float64(p.to-p.from)
	}
	return merit
}

// confirmed works out alpha from q, free of what rounding has left in it over the
// steps, and tells whether the residual is still nothing.
func (s *newton) confirmed(y *system) bool {
	for k := range y.parts {
		m, p := &s.joints[k], &y.parts[k]
		for i := p.from; i < p.to; i++ {
			alpha := m.lift + m.tilt*y.position[i] + s.apart[i] - dot(s.q[:y.slices], y.row(y.a, i))
			s.residual[i] += s.root[i] * s.root[i] * (s.alpha[i] - alpha)
			s.alpha[i] = alpha
		}
	}
	return s.converged(y)
}

// converged tells whether nothing is left in the residual of the last trial.
func (s *newton) converged(y *system) bool {
	for k := range y.parts {
		m, p := &s.joints[k], &y.parts[k]
		count := float64(p.to - p.from)
		limit := tolerance*m.force/count + m.floor
		for _, r := range s.residual[p.from:p.to] {
			if !(math.Abs(r) <= limit) {
				return false
			}
		}
		if !(math.Abs(m.offForce)+math.Abs(m.offMoment) <= limit*count) {
			return false
		}
	}
	return true
}
