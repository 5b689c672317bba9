package rollload

import (
	"errors"
	"math"
)

// ErrNotConverged says that the iteration gave up. Inputs that pass the checks
// are not known to bring it about.
var ErrNotConverged = errors.New("the load along the barrel was not found within the allowed iterations")

const (
	maxIterations = 200
	patience      = 20 // iterations before the search goes by energy
	// tolerance is the largest residual that ends the iteration, over the mean
	// line load.
	tolerance = 1e-11
)

// newton finds the line load of each slice of y. The unknowns are q, the rigid
// lift y₀ of the work roll and, where the halves differ, its tilt θ:
//
//	r = q − φ(α) = 0,   α = y₀ + θξ + apart − A·q
//	Σq·w = force,   Σq·ξ·w = moment
//
// with φ the contact, apart what strip, bending and profiles alone put between
// the rolls, w the width of a slice and ξ its position from −1 to 1. With
// D = φ'(α), S = √D and dq = S·t − r a Newton step is
//
//	(I + S·A·S)·t = S·(A·r + E·dz),   E = [1 ξ],   dz = (dy₀, dθ)
//
// where dz follows from the two sums. D is 0 where the rolls have parted, so
// those slices drop out of the equations by themselves and come back as α
// rises. A step is halved until it lessens Σr² enough (Armijo), or the energy
// where that leads nowhere. On return q keeps the sums exactly, is free of negative values, and alpha belongs to it.
type newton struct {
	q, apart, alpha, residual []float64
	root                      []float64 // S
	step, stepAlpha, product  []float64
	trialQ, trialAlpha        []float64
	active                    []int32
	factor                    factor
	lift, tilt                float64 // y₀ and θ per ξ, mm
	stepLift, stepTilt        float64
	force, moment             float64 // the sums wanted, over w
	offForce, offMoment       float64 // what the sums lack
	floor                     float64 // residual that rounding may leave, N/mm
}

func newNewton(slices int) newton {
	pool := make([]float64, 10*slices)
	next := func() (s []float64) {
		s, pool = pool[:slices:slices], pool[slices:]
		return s
	}
	return newton{
		q: next(), apart: next(), alpha: next(), residual: next(), root: next(),
		step: next(), stepAlpha: next(), product: next(), trialQ: next(), trialAlpha: next(),
		active: make([]int32, 0, slices), factor: newFactor(slices),
	}
}

// solve expects apart, force and moment to be set.
func (s *newton) solve(y *system, l law, tilting bool) (iterations int, err error) {
	s.start(y, l, tilting)
	merit := s.evaluate(y, l, s.q, s.alpha)
	byEnergy := false
	for iterations < maxIterations {
		iterations++
		slope := s.direction(y, tilting)
		// Only a few stacks that touch in a slice or two get this far without
		// an answer.
		byEnergy = byEnergy || iterations > patience
		length, trial := s.search(y, l, merit)
		if length == 0 || byEnergy {
			byEnergy = true
			if length, trial = s.searchEnergy(y, l, slope); length == 0 {
				return iterations, ErrNotConverged
			}
		}
		merit = trial
		s.q, s.trialQ = s.trialQ, s.q
		s.alpha, s.trialAlpha = s.trialAlpha, s.alpha
		s.lift += length * s.stepLift
		s.tilt += length * s.stepTilt
		if s.converged(y) {
			for i, v := range s.q[:y.slices] {
				s.q[i] = max(v, 0)
			}
			return iterations, nil
		}
	}
	return iterations, ErrNotConverged
}

// start guesses a straight line of q that has the wanted sums, and the rigid
// position that suits it best on the whole.
func (s *newton) start(y *system, l law, tilting bool) {
	m := float64(y.slices)
	spread, largest := 0.0, 0.0
	for _, p := range y.position {
		spread += p * p
	}
	slope := 0.0
	if tilting {
		slope = s.moment / spread
	}
	for i, p := range y.position {
		s.q[i] = s.force/m + slope*p
	}
	s.lift, s.tilt = 0, 0
	for i, p := range y.position {
		s.alpha[i] = s.apart[i] - dot(s.q[:y.slices], y.row(y.a, i))
		gap := l.Approach(s.q[i]) - s.alpha[i]
		s.lift += gap / m
		s.tilt += gap * p / spread
		largest = max(largest, math.Abs(s.alpha[i]))
	}
	if !tilting {
		s.tilt = 0
	}
	for i, p := range y.position {
		s.alpha[i] += s.lift + s.tilt*p
	}
	_, stiffness := l.LineLoad(l.Approach(s.force / m))
	s.floor = 1e-14 * largest * stiffness
}

// evaluate fills residual and root for a trial and returns the squares of all
// that is not yet zero.
func (s *newton) evaluate(y *system, l law, q, alpha []float64) (merit float64) {
	s.offForce, s.offMoment = -s.force, -s.moment
	touching := false
	for i, p := range y.position {
		load, slope := l.LineLoad(alpha[i])
		r := q[i] - load
		s.residual[i], s.root[i] = r, math.Sqrt(slope)
		touching = touching || slope > 0
		merit += r * r
		s.offForce += q[i]
		s.offMoment += q[i] * p
	}
	if !touching { // nothing to hold on to for a next step: not a way to go
		return math.Inf(1)
	}
	if y.first > 0 { // folded: the other half answers for the moment
		s.offMoment = 0
	}
	return merit + (s.offForce*s.offForce+s.offMoment*s.offMoment)/float64(y.slices)
}

// converged tells whether nothing is left in the residual of the last trial.
func (s *newton) converged(y *system) bool {
	limit := tolerance*s.force/float64(y.slices) + s.floor
	for _, r := range s.residual[:y.slices] {
		if !(math.Abs(r) <= limit) {
			return false
		}
	}
	return math.Abs(s.offForce)+math.Abs(s.offMoment) <= limit*float64(y.slices)
}
