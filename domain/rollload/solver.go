package rollload

import (
	"barrelbook/domain/refusal"
)

// Solver solves one stack under load after load. It keeps its memory: after the
// first solves it allocates nothing. It serves one goroutine; others make their
// own from the same coefficients.
type Solver struct {
	c      *Coefficients
	newton newton
	strip  strip // of the work roll
	inner  strip // of the intermediate roll: its bending forces
	shapes [mostJoints + 1]shape
	faces  []face
	q      []float64 // of all slices
	result Result
}

// face is one joint with its solution.
type face struct {
	*joint
	motion        *motion
	front, behind *shape
	total, moment float64   // what it carries, about its middle
	q             []float64 // of its slices
	profile       []float64 // mean of gap over each slice
	smooth        []float64 // y of the axis in front less that behind: left edge, slices, right edge
	result        *Contact
}

// NewSolver makes a solver over c.
func NewSolver(c *Coefficients) *Solver {
	n, m := len(c.joints[0].centres), len(c.joints[0].stations)
	s := &Solver{c: c, newton: newNewton(c.joints), q: make([]float64, n*len(c.joints)), faces: make([]face, len(c.joints))}
	s.result = Result{StationGapUM: make([]float64, m), StationAxisUM: make([]float64, m)}
	for k := range s.faces {
		j := &c.joints[k]
		s.faces[k] = face{joint: j, motion: &s.newton.joints[k], front: &s.shapes[k], behind: &s.shapes[k+1],
			q: s.q[k*n : (k+1)*n], profile: make([]float64, n), smooth: make([]float64, n+2), result: &s.result.Contact}
		if k > 0 {
			s.faces[k].result = &s.result.Backup
		}
		*s.faces[k].result = Contact{
			StationXMM:             j.stations,
			StationLineLoadNPerMM:  make([]float64, m),
			StationPeakPressureMPa: make([]float64, m),
			CommonBarrelMM:         j.right - j.left,
			SliceXMM:               j.centres,
			SliceLineLoadNPerMM:    s.faces[k].q,
		}
	}
	return s
}

// Solve finds the load along the barrels. The slices in the result belong to
// the solver and are overwritten by the next Solve.
//
// Refused are the inputs that [Load] and [Profile] exclude, a total force that
// would part two rolls altogether, a force whose resultant lies outside a
// common barrel, and one that presses a contact wider than Hertz's theory
// goes. Newton's method needs 3 to 12 steps on what rolling mills do;
// [ErrNotConverged] would say that it failed.
func (s *Solver) Solve(l *Load) (Result, error) {
	c := s.c
	if err := l.check(c.stack); err != nil {
		return Result{}, err
	}
	if err := s.press(l); err != nil {
		return Result{}, err
	}
	profiles, mirrored := l.profiles(c.stack.SixHigh()), l.Strip.mirrored()
	s.setShapes(profiles)
	for k := range len(s.faces) + 1 {
		mirrored = mirrored && profiles[k].mirrored()
	}
	y := &c.full
	if !l.Whole && c.half.slices > 0 && mirrored {
		y = &c.half
	}
	s.separate(y)
	for k := range s.faces {
		f := &s.faces[k]
		f.motion.force = f.total / c.joints[0].width
		f.motion.moment = f.moment / c.joints[0].width / ((f.right - f.left) / 2)
		if y.folded {
			f.motion.force, f.motion.moment = f.motion.force/2, 0
		}
	}
	iterations, err := s.newton.solve(y)
	if err != nil {
		return Result{}, err
	}
	s.result.Iterations = iterations
	for k := range s.faces {
		s.faces[k].spread(&y.parts[k], &s.newton)
	}
	return s.report(y, l)
}

func (s *Solver) setShapes(profiles [mostJoints + 1]*Profile) {
	set := func(k int, r *Roll) {
		s.shapes[k] = shape{Profile: profiles[k], half: r.BarrelLengthMM / 2, offset: r.AxialOffsetMM}
	}
	p := &s.c.stack
	set(0, &p.Work)
	if len(s.faces) == 1 {
		set(1, &p.Backup)
		return
	}
	set(1, &p.Intermediate)
	set(2, &p.Backup)
}

// press lays strip and bending forces on the rolls and finds what each joint
// carries of them. It refuses what no contact could carry.
func (s *Solver) press(l *Load) error {
	s.strip.lay(s.c.work(), &l.Strip, l.BendingForceN)
	s.faces[0].total, s.faces[0].moment = s.strip.total, s.strip.moment
	if inner := s.c.inner(); inner != nil {
		s.inner.lay(inner, &Points{}, l.IntermediateBendingForceN)
		f, middle := &s.faces[1], s.faces[1].middle()
		f.total = s.strip.total + s.inner.total
		f.moment = s.strip.moment + s.strip.total*(s.faces[0].middle()-middle) + s.inner.moment + s.inner.total*(inner.clamp-middle)
	}
	for k := range s.faces {
		f := &s.faces[k]
		if !(f.total > 0) {
			return l.parts(k)
		}
		if !f.law.InRange(f.total / (f.right - f.left)) {
			return errTooWide
		}
		half := (f.right - f.left) / 2
		if at := f.moment / f.total; !(at > -half && at < half) {
			return refusal.One("strip_load", "", "has its resultant outside the common barrel, so the rolls would tip over", "")
		}
	}
	return nil
}

// ahead is how far strip and bending forces alone bring the roll in front of
// joint k nearer to the one behind it at x, and its second derivative.
func (s *Solver) ahead(k int, x float64) (lift, curvature float64) {
	if k == 0 {
		lift, curvature = s.strip.at(x)
	}
	if len(s.faces) > 1 {
		inner, bend := s.inner.at(x)
		if k == 0 {
			return lift - inner, curvature - bend
		}
		return inner, bend
	}
	return lift, curvature
}

// separate fills what lies between the rolls before they press on each other:
// the mean, over each slice, of the lift under strip and bending alone, and of
// half the sum of the two profiles. The lift is smooth, so its mean is that at
// the centre and w²/24 of its second derivative; a profile may have corners and
// is taken at two Gauss points.
func (s *Solver) separate(y *system) {
	const gauss = 0.28867513459481287 // 1/√12
	for k := range s.faces {
		f, p := &s.faces[k], &y.parts[k]
		w := f.width
		for i := range p.to - p.from {
			x := f.centres[p.first+i]
			lift, curvature := s.ahead(k, x)
			f.profile[i] = (f.gap(x-gauss*w) + f.gap(x+gauss*w)) / 2
			s.newton.apart[p.from+i] = lift + curvature*w*w/24 + f.profile[i]
		}
	}
}

// gap is half the sum of the two diameters' deviations at x: what the profiles
// add to α.
func (f *face) gap(x float64) float64 { return (f.front.mm(x) + f.behind.mm(x)) / 2 }

// spread lays the solution out over all slices, mirroring a folded one.
func (f *face) spread(p *part, solved *newton) {
	n := len(f.q)
	for i, q := range solved.q[p.from:p.to] {
		f.q[p.first+i] = q / f.scale
		f.smooth[1+p.first+i] = solved.alpha[p.from+i] - f.profile[i]
	}
	for i := range p.first {
		f.q[i] = f.q[n-1-i]
		f.smooth[1+i] = f.smooth[n-i]
	}
	// From means over the slices to values at their centres: a 24th of the
	// second difference.
	before := f.smooth[1]
	for i := 2; i < n; i++ {
		mean := f.smooth[i]
		f.smooth[i] -= (before - 2*mean + f.smooth[i+1]) / 24
		before = mean
	}
}
