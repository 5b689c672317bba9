package rollload

import (
	"math"

	"barrelbook/domain/refusal"
)

// Result is the load along the barrel and what follows from it. Places are x in
// the mill.
type Result struct {
	// CommonBarrelMM is the length over which both barrels face each other;
	// the mean line load is taken over it.
	CommonBarrelMM                 float64
	MeanLineLoadNPerMM             float64
	MaxLineLoadNPerMM              float64
	MaxLineLoadXMM                 float64
	PeakPressureMPa                float64 // p₀ at the greatest line load
	ContactLengthMM                float64 // over which the rolls touch
	FlatteningCentreUM             float64 // approach of the axes at x = 0; 0 where parted
	WorkAxisCentreMinusStripEdgeUM float64 // lift of the work axis at x = 0 less that at the strip's last point
	// TiltUM is how much more the right end of the common barrel is lifted
	// than the left one by the rigid tilt alone; 0 when both halves are alike.
	TiltUM     float64
	Iterations int
	// Stations, edge to edge: line load, peak pressure, and the work roll's
	// lower surface, lift less half the profile on diameter, relative to
	// x = 0. In a mill whose halves are alike the loaded gap changes by twice that.
	StationXMM             []float64
	StationLineLoadNPerMM  []float64
	StationPeakPressureMPa []float64
	StationGapUM           []float64
	// Slices of the solution: centres and mean line loads, whose sum times the
	// width of a slice is the whole force.
	SliceXMM            []float64
	SliceLineLoadNPerMM []float64
}

// report works out everything that is told of a solution.
func (s *Solver) report(y *system, l *Load) (Result, error) {
	c, r, n := s.c, &s.result, &s.newton
	r.MeanLineLoadNPerMM = s.strip.total / r.CommonBarrelMM
	r.TiltUM = 2000 * n.tilt
	apart, axis := s.point(y, 0, len(c.stations)-y.firstStation)
	r.FlatteningCentreUM = 1000 * max(apart+s.gap(0), 0)
	surface := axis - s.work.mm(0)/2
	edge := l.Strip.XMM[len(l.Strip.XMM)-1]
	hint := 0
	edgeAxis, _ := s.strip.at(edge, &hint)
	edgeAxis += n.lift + n.tilt*s.along(edge) - c.workDeflection(edge, s.q)
	r.WorkAxisCentreMinusStripEdgeUM = 1000 * (axis - edgeAxis)
	last := len(c.stations) - 1
	for i := y.firstStation; i <= last; i++ {
		x := c.stations[i]
		apart, axis := s.point(y, x, i-y.firstStation)
		q, _ := c.law.LineLoad(apart + s.gap(x))
		r.StationLineLoadNPerMM[i] = q
		r.StationPeakPressureMPa[i] = c.law.PeakPressure(q)
		r.StationGapUM[i] = 1000 * (axis - s.work.mm(x)/2 - surface)
		if i == last {
			s.smooth[len(s.smooth)-1] = apart
		}
		if i == 0 || y.first > 0 {
			s.smooth[0] = apart
		}
	}
	for i := range y.firstStation {
		r.StationLineLoadNPerMM[i] = r.StationLineLoadNPerMM[last-i]
		r.StationPeakPressureMPa[i] = r.StationPeakPressureMPa[last-i]
		r.StationGapUM[i] = r.StationGapUM[last-i]
	}
	r.ContactLengthMM = s.contactLength()
	s.findMax(y)
	r.PeakPressureMPa = c.law.PeakPressure(r.MaxLineLoadNPerMM)
	if !c.law.InRange(r.MaxLineLoadNPerMM) {
		return Result{}, refusal.One("strip_load", "", "presses the rolls wider than half of the smaller radius", "check the unit of the load")
	}
	return *r, nil
}

// along is the place of x on the common barrel, −1 to 1.
func (s *Solver) along(x float64) float64 {
	return (2*x - s.c.left - s.c.right) / (s.c.right - s.c.left)
}

// point gives y_W − y_B and y_W at x, whose coefficients are in row i of y.
func (s *Solver) point(y *system, x float64, i int) (apart, axis float64) {
	n := &s.newton
	lift, _ := s.strip.at(x, &s.hint)
	lift += n.lift + n.tilt*s.along(x)
	q := n.q[:y.slices]
	return lift - dot(q, y.row(y.rows, i)), lift - dot(q, y.row(y.workRows, i))
}

// node gives the x of smooth[i]: the left edge, the slices' centres, the right
// edge.
func (s *Solver) node(i int) float64 {
	switch {
	case i == 0:
		return s.c.left
	case i == len(s.smooth)-1:
		return s.c.right
	}
	return s.c.centres[i-1]
}

// approachAt is α at any x of the common barrel. y_W − y_B is a smooth curve and
// is interpolated, by the cubic through four nodes; the profile, which may have
// corners, is added as it is.
func (s *Solver) approachAt(x float64) float64 {
	first := int((x-s.c.left)/s.c.width+0.5) - 1
	first = max(0, min(first, len(s.smooth)-4))
	value := 0.0
	for i := first; i < first+4; i++ {
		weight := 1.0
		for j := first; j < first+4; j++ {
			if j != i {
				weight *= (x - s.node(j)) / (s.node(i) - s.node(j))
			}
		}
		value += weight * s.smooth[i]
	}
	return value + s.gap(x)
}

// contactLength adds up where α is above 0, finding each point of parting by
// a straight line between the nodes.
func (s *Solver) contactLength() float64 {
	parted, before := 0.0, s.smooth[0]+s.gap(s.node(0))
	for i := 1; i < len(s.smooth); i++ {
		here := s.smooth[i] + s.gap(s.node(i))
		step := s.node(i) - s.node(i-1)
		switch {
		case before <= 0 && here <= 0:
			parted += step
		case before <= 0 || here <= 0:
			parted += step * min(before, here) / (min(before, here) - max(before, here))
		}
		before = here
	}
	return s.result.CommonBarrelMM - parted
}

// findMax looks for the greatest line load at the nodes, the stations and the
// corners of the profiles, then once more about the best of them at the top of
// the parabola there. Of two equal ones it takes the one to the right.
func (s *Solver) findMax(y *system) {
	r := &s.result
	best, at := math.Inf(-1), 0.0
	take := func(x, alpha float64) {
		if alpha-best > 1e-9*math.Abs(alpha) {
			best, at = alpha, x
		}
	}
	try := func(x float64) {
		if x >= s.c.left && x <= s.c.right {
			take(x, s.approachAt(x))
		}
	}
	for i := len(s.smooth) - 1; i > y.first; i-- {
		x := s.node(i)
		take(x, s.smooth[i]+s.gap(x))
	}
	if y.first == 0 {
		take(s.c.left, s.smooth[0]+s.gap(s.c.left))
	}
	for i := len(r.StationXMM) - 1; i >= y.firstStation; i-- {
		take(r.StationXMM[i], s.c.law.Approach(r.StationLineLoadNPerMM[i]))
	}
	s.work.kinks(try)
	s.backup.kinks(try)
	h := s.c.width / 2
	if lo, hi := at-h, at+h; lo >= s.c.left && hi <= s.c.right {
		below, above := s.approachAt(lo), s.approachAt(hi)
		if bend := below - 2*best + above; bend < 0 {
			try(at + h*max(-1, min(1, (below-above)/(2*bend))))
		}
	}
	r.MaxLineLoadXMM = at
	r.MaxLineLoadNPerMM, _ = s.c.law.LineLoad(best)
}
