package rollload

import (
	"barrelbook/domain/refusal"
)

// Load is what presses on a pair, and the shapes of its rolls: all that may
// change from one piece to the next.
type Load struct {
	// Strip is the strip's load on the work roll in N/mm, at least 0, straight
	// between its points and 0 beyond them. It must lie on the work roll.
	Strip Points
	// BendingForceN is the force per chock, positive when it presses the work
	// roll away from the strip and on to the backup roll.
	BendingForceN float64
	// Work and Backup are the shapes of the two barrels.
	Work, Backup Profile
	// Whole asks for the equations of the whole barrel even where both halves
	// are alike; the answer is the same.
	Whole bool
}

// Solver solves one pair under load after load. It keeps its memory: after the
// first solves it allocates nothing. It serves one goroutine; others make their
// own from the same coefficients.
type Solver struct {
	c       *Coefficients
	newton  newton
	strip   strip
	work    shape
	backup  shape
	q       []float64 // of all slices
	profile []float64 // mean of gap over each slice
	smooth  []float64 // y_W − y_B: left edge, slices, right edge
	hint    int       // of strip.at
	result  Result
}

// NewSolver makes a solver over c.
func NewSolver(c *Coefficients) *Solver {
	n, m := len(c.centres), len(c.stations)
	return &Solver{
		c:      c,
		newton: newNewton(n),
		q:      make([]float64, n), profile: make([]float64, n), smooth: make([]float64, n+2),
		result: Result{
			StationXMM:             c.stations,
			StationLineLoadNPerMM:  make([]float64, m),
			StationPeakPressureMPa: make([]float64, m),
			StationGapUM:           make([]float64, m),
			CommonBarrelMM:         c.right - c.left,
			SliceXMM:               c.centres,
		},
	}
}

// Solve finds the load along the barrel. The slices in the result belong to the
// solver and are overwritten by the next Solve.
//
// Refused are the inputs that [Load] and [Profile] exclude, a total force that
// would part the rolls altogether, a force whose resultant lies outside the
// common barrel, and one that presses the contact wider than Hertz's theory
// goes. Newton's method needs 2 to 6 iterations on what rolling mills do;
// [ErrNotConverged] would say that it failed.
func (s *Solver) Solve(l *Load) (Result, error) {
	c := s.c
	if err := l.check(c.pair); err != nil {
		return Result{}, err
	}
	s.strip.lay(&c.work, &l.Strip, l.BendingForceN)
	if err := s.checkResultant(l); err != nil {
		return Result{}, err
	}
	y, tilting := &c.full, true
	if !l.Whole && c.half.slices > 0 && l.Strip.mirrored() && l.Work.mirrored() && l.Backup.mirrored() {
		y, tilting = &c.half, false
	}
	s.work = shape{Profile: &l.Work, half: c.pair.Work.BarrelLengthMM / 2, offset: c.pair.Work.AxialOffsetMM}
	s.backup = shape{Profile: &l.Backup, half: c.pair.Backup.BarrelLengthMM / 2, offset: c.pair.Backup.AxialOffsetMM}
	s.separate(y)
	n := &s.newton
	n.force = s.strip.total / c.width
	n.moment = s.strip.moment / c.width / ((c.right - c.left) / 2)
	if !tilting {
		n.force, n.moment = n.force/2, 0
	}
	iterations, err := n.solve(y, c.law, tilting)
	if err != nil {
		return Result{}, err
	}
	s.result.Iterations = iterations
	s.spread(y)
	return s.report(y, l)
}

// checkResultant refuses forces that no contact could carry.
func (s *Solver) checkResultant(l *Load) error {
	if !(s.strip.total > 0) {
		if l.BendingForceN < 0 {
			return refusal.One("bending_force_n", refusal.Number(l.BendingForceN),
				"pulls harder than the strip presses, so the rolls would part along the whole barrel", "")
		}
		return refusal.One("strip_load", "", "presses with no force at all", "")
	}
	half := (s.c.right - s.c.left) / 2
	if at := s.strip.moment / s.strip.total; !(at > -half && at < half) {
		return refusal.One("strip_load", "", "has its resultant outside the common barrel, so the rolls would tip over", "")
	}
	return nil
}

// separate fills what lies between the rolls before they press on each other:
// the mean, over each slice, of the work roll's lift under strip and bending
// alone, and of half the sum of the two profiles. The lift is smooth, so its
// mean is that at the centre and w²/24 of its second derivative; a profile may
// have corners and is taken at two Gauss points.
func (s *Solver) separate(y *system) {
	w := s.c.width
	const gauss = 0.28867513459481287 // 1/√12
	for i := range y.slices {
		x := s.c.centres[y.first+i]
		lift, curvature := s.strip.at(x, &s.hint)
		s.profile[i] = (s.gap(x-gauss*w) + s.gap(x+gauss*w)) / 2
		s.newton.apart[i] = lift + curvature*w*w/24 + s.profile[i]
	}
}

// gap is half the sum of the two diameters' deviations at x: what the profiles
// add to α.
func (s *Solver) gap(x float64) float64 { return (s.work.mm(x) + s.backup.mm(x)) / 2 }

// spread lays the solution out over all slices, mirroring a folded one.
func (s *Solver) spread(y *system) {
	n := len(s.q)
	copy(s.q[y.first:], s.newton.q[:y.slices])
	for i, a := range s.newton.alpha[:y.slices] {
		s.smooth[1+y.first+i] = a - s.profile[i]
	}
	for i := range y.first {
		s.q[i] = s.q[n-1-i]
		s.smooth[1+i] = s.smooth[n-i]
	}
	// From means over the slices to values at their centres: a 24th of the
	// second difference.
	before := s.smooth[1]
	for i := 2; i < n; i++ {
		mean := s.smooth[i]
		s.smooth[i] -= (before - 2*mean + s.smooth[i+1]) / 24
		before = mean
	}
	s.result.SliceLineLoadNPerMM = s.q
}

// check gathers the refusals of a load on a pair.
func (l *Load) check(p Pair) error {
	var c refusal.Check
	checkStrip(&c, &l.Strip, p.Work)
	if !finite(l.BendingForceN) {
		c.Finite("bending_force_n", l.BendingForceN)
	}
	l.Work.check(&c, "work", p.Work.BarrelLengthMM)
	l.Backup.check(&c, "backup", p.Backup.BarrelLengthMM)
	return c.Err()
}
