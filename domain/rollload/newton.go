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
