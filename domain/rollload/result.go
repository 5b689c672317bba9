package rollload

import (
	"math"
)

// Contact is the load along the common barrel of two rolls. Places are x in the
// mill.
type Contact struct {
	// CommonBarrelMM is the length over which both barrels face each other;
	// the mean line load is taken over it.
	CommonBarrelMM     float64
	MeanLineLoadNPerMM float64
	MaxLineLoadNPerMM  float64
	MaxLineLoadXMM     float64
	PeakPressureMPa    float64 // p₀ at the greatest line load
	ContactLengthMM    float64 // over which the rolls touch
	FlatteningCentreUM float64 // approach of the axes at x = 0; 0 where parted
	// TiltUM is how much more the right end of the common barrel is lifted
	// than the left one by the rigid tilt of the one roll against the other
	// alone; 0 when both halves are alike.
	TiltUM float64
	// Stations, edge to edge: line load and peak pressure.
	StationXMM             []float64
	StationLineLoadNPerMM  []float64
	StationPeakPressureMPa []float64
	// Slices of the solution: centres and mean line loads, whose sum times the
	// width of a slice is the whole force.
	SliceXMM            []float64
	SliceLineLoadNPerMM []float64
}

// Result is the load along the barrels and what follows from it.
type Result struct {
	Contact         // of the work roll and the roll behind it
	Backup  Contact // of intermediate and backup roll in a six-high stand, else empty

	WorkAxisCentreMinusStripEdgeUM float64 // lift of the work axis at x = 0 less that at the strip's last point
	Iterations                     int
	// At the stations, relative to x = 0: the lift of the work roll's axis, and
	// its lower surface, lift less half the profile on diameter. In a mill whose
	// halves are alike the loaded gap changes by twice the latter.
	StationAxisUM []float64
	StationGapUM  []float64
}

// report works out everything that is told of a solution.
func (s *Solver) report(y *system, l *Load) (Result, error) {
	r := &s.result
	for k := range s.faces {
		s.faces[k].report(s, k, y)
	}
	s.reportAxis(y, l)
	for k := range s.faces {
		if f := &s.faces[k]; !f.law.InRange(f.result.MaxLineLoadNPerMM) {
			return Result{}, errTooWide
		}
	}
	return *r, nil
}

// report works out what is told of one contact.
func (f *face) report(s *Solver, k int, y *system) {
	r, p := f.result, &y.parts[k]
	q := s.newton.q[:y.slices]
	r.MeanLineLoadNPerMM = f.total / r.CommonBarrelMM
	r.TiltUM = 2000 * f.motion.tilt
	apart := func(x float64, i int) float64 {
		lift, _ := s.ahead(k, x)
		return lift + f.motion.lift + f.motion.tilt*f.along(x) - dot(q, y.row(p.rows, i))
	}
	last := len(f.stations) - 1
	r.FlatteningCentreUM = 1000 * max(apart(0, last+1-p.firstStation)+f.gap(0), 0)
	for i := p.firstStation; i <= last; i++ {
		x := f.stations[i]
		smooth := apart(x, i-p.firstStation)
		load, _ := f.law.LineLoad(smooth + f.gap(x))
		r.StationLineLoadNPerMM[i] = load
		r.StationPeakPressureMPa[i] = f.law.PeakPressure(load)
		if i == last {
			f.smooth[len(f.smooth)-1] = smooth
		}
		if i == 0 || y.folded {
			f.smooth[0] = smooth
		}
	}
	for i := range p.firstStation {
		r.StationLineLoadNPerMM[i] = r.StationLineLoadNPerMM[last-i]
		r.StationPeakPressureMPa[i] = r.StationPeakPressureMPa[last-i]
	}
	r.ContactLengthMM = f.contactLength()
	f.findMax(p)
	r.PeakPressureMPa = f.law.PeakPressure(r.MaxLineLoadNPerMM)
}

// rigid is the rigid part of the work roll's lift at x: what all joints add.
func (s *Solver) rigid(x float64) (lift float64) {
	for k := range s.faces {
		f := &s.faces[k]
		lift += f.motion.lift + f.motion.tilt*f.along(x)
	}
	return lift
}

// reportAxis works out where the axis and the surface of the work roll lie.
func (s *Solver) reportAxis(y *system, l *Load) {
	r, f, p := &s.result, &s.faces[0], &y.parts[0]
	q := s.newton.q[:y.slices]
	axis := func(x float64, i int) float64 {
		lift, _ := s.strip.at(x)
		return lift + s.rigid(x) - dot(q, y.row(y.workRows, i))
	}
	last := len(f.stations) - 1
	centre := axis(0, last+1-p.firstStation)
	surface := centre - f.front.mm(0)/2
	edge := l.Strip.XMM[len(l.Strip.XMM)-1]
	edgeAxis, _ := s.strip.at(edge)
	edgeAxis += s.rigid(edge) - s.c.workDeflection(edge, f.q)
	r.WorkAxisCentreMinusStripEdgeUM = 1000 * (centre - edgeAxis)
	for i := p.firstStation; i <= last; i++ {
		x := f.stations[i]
		at := axis(x, i-p.firstStation)
		r.StationAxisUM[i] = 1000 * (at - centre)
		r.StationGapUM[i] = 1000 * (at - f.front.mm(x)/2 - surface)
	}
	for i := range p.firstStation {
		r.StationAxisUM[i] = r.StationAxisUM[last-i]
		r.StationGapUM[i] = r.StationGapUM[last-i]
	}
}

// node gives the x of smooth[i]: the left edge, the slices' centres, the right
// edge.
func (f *face) node(i int) float64 {
	switch {
	case i == 0:
		return f.left
	case i == len(f.smooth)-1:
		return f.right
	}
	return f.centres[i-1]
}

// approachAt is α at any x of the common barrel. y_W − y_B is a smooth curve and
// is interpolated, by the cubic through four nodes; the profile, which may have
// corners, is added as it is.
func (f *face) approachAt(x float64) float64 {
	first := int((x-f.left)/f.width+0.5) - 1
	first = max(0, min(first, len(f.smooth)-4))
	value := 0.0
	for i := first; i < first+4; i++ {
		weight := 1.0
		for j := first; j < first+4; j++ {
			if j != i {
				weight *= (x - f.node(j)) / (f.node(i) - f.node(j))
			}
		}
		value += weight * f.smooth[i]
	}
	return value + f.gap(x)
}

// contactLength adds up where α is above 0, finding each point of parting by
// a straight line between the nodes.
func (f *face) contactLength() float64 {
	parted, before := 0.0, f.smooth[0]+f.gap(f.node(0))
	for i := 1; i < len(f.smooth); i++ {
		here := f.smooth[i] + f.gap(f.node(i))
		step := f.node(i) - f.node(i-1)
		switch {
		case before <= 0 && here <= 0:
			parted += step
		case before <= 0 || here <= 0:
			parted += step * min(before, here) / (min(before, here) - max(before, here))
		}
		before = here
	}
	return f.result.CommonBarrelMM - parted
}

// findMax looks for the greatest line load at the nodes, the stations and the
// corners of the profiles, then once more about the best of them at the top of
// the parabola there. Of two equal ones it takes the one to the right.
func (f *face) findMax(p *part) {
	r := f.result
	best, at := math.Inf(-1), 0.0
	take := func(x, alpha float64) {
		if alpha-best > 1e-9*math.Abs(alpha) {
			best, at = alpha, x
		}
	}
	try := func(x float64) {
		if x >= f.left && x <= f.right {
			take(x, f.approachAt(x))
		}
	}
	for i := len(f.smooth) - 1; i > p.first; i-- {
		x := f.node(i)
		take(x, f.smooth[i]+f.gap(x))
	}
	if p.first == 0 {
		take(f.left, f.smooth[0]+f.gap(f.left))
	}
	for i := len(r.StationXMM) - 1; i >= p.firstStation; i-- {
		take(r.StationXMM[i], f.law.Approach(r.StationLineLoadNPerMM[i]))
	}
	f.front.kinks(try)
	f.behind.kinks(try)
	h := f.width / 2
	if lo, hi := at-h, at+h; lo >= f.left && hi <= f.right {
		below, above := f.approachAt(lo), f.approachAt(hi)
		if bend := below - 2*best + above; bend < 0 {
			try(at + h*max(-1, min(1, (below-above)/(2*bend))))
		}
	}
	r.MaxLineLoadXMM = at
	r.MaxLineLoadNPerMM, _ = f.law.LineLoad(best)
}
