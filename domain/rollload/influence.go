package rollload

import (
	"math"

	"barrelbook/domain/contact"
	"barrelbook/domain/refusal"
)

// Defaults of [Options].
const (
	DefaultSlices   = 100
	DefaultStations = 41
)

// Options say how finely a stack is cut up.
type Options struct {
	// Slices is the even number of slices of each common barrel, 10 to 1000.
	// Defaults to 100, which is within 5e-4 of the mean line load.
	Slices int
	// Stations is the number of evenly spaced places, both edges included, at
	// which the line load is reported; 2 to 2001. Defaults to 41.
	Stations int
}

// law is the contact as the solver sees it; contact.Law in earnest, springs
// with a known answer in the tests.
type law interface {
	Approach(q float64) float64
	LineLoad(alpha float64) (q, slope float64)
	Energy(alpha float64) float64
	PeakPressure(q float64) float64
	InRange(q float64) bool
}

// mostJoints is the number of contacts in the top half of a six-high stand.
const mostJoints = 2

// joint is the contact of two neighbouring rolls: where it lies and how it is
// cut up.
type joint struct {
	law         law
	left, right float64 // ends of the common barrel, mm
	width       float64 // of a slice, mm
	// scale is width over that of the first joint. The solver's unknowns are line
	// loads times scale: so the equations stay symmetric where slices of the two
	// joints differ in width.
	scale    float64
	centres  []float64
	stations []float64
}

// along is the place of x on the common barrel, −1 to 1.
func (j *joint) along(x float64) float64 { return (2*x - j.left - j.right) / (j.right - j.left) }

func (j *joint) middle() float64 { return (j.left + j.right) / 2 }

// slice is slice i from its left to its right end.
func (j *joint) slice(i int) (lo, hi float64) {
	return j.centres[i] - j.width/2, j.centres[i] + j.width/2
}

// Coefficients are the influence coefficients of one stack: how far the axes
// move apart in one slice, or at one station, under a unit line load on
// another. They depend on geometry and material only. Make them once and share
// them: they are never changed.
type Coefficients struct {
	stack  Stack
	beams  []beam  // from the strip up
	joints []joint // joint k lies between beams k and k+1
	full   system
	half   system // of the right half, folded; empty when a roll is shifted
}

// system is the equations of whole barrels, or of their right halves when both
// halves are alike.
type system struct {
	slices   int       // of all joints
	folded   bool      // right halves only
	parts    []part    // one for each joint
	position []float64 // of each slice, from the middle, over half the barrel
	a        []float64 // slices × slices, symmetric
	// touching is the left side of a step for contacts that touch everywhere, at
	// a usual load.
	touching *held
	// Of the work roll alone, at the stations of the first joint, then x = 0.
	workRows []float64
}

// part is what of a system belongs to one joint.
type part struct {
	from, to     int // its slices among all of the system
	first        int // the first of them among those of the joint
	firstStation int
	// For each of its stations, then for x = 0, a row of coefficients.
	rows []float64
}

// row gives row i of coefficients; the last row of a station's is that of x = 0.
func (y *system) row(all []float64, i int) []float64 { return all[i*y.slices : (i+1)*y.slices] }

// NewCoefficients checks a stack and works out its influence coefficients.
func NewCoefficients(p Stack, o Options) (*Coefficients, error) {
	if err := p.check(); err != nil {
		return nil, err
	}
	rolls := p.rolls()
	laws := make([]law, len(rolls)-1)
	for k := range laws {
		l, err := contact.NewLaw(rolls[k].Body, rolls[k+1].Body, p.ApproachConstant)
		if err != nil {
			return nil, err
		}
		laws[k] = &l
	}
	return newCoefficients(p, o, laws...)
}

func newCoefficients(p Stack, o Options, laws ...law) (*Coefficients, error) {
	if o.Slices == 0 {
		o.Slices = DefaultSlices
	}
	if o.Stations == 0 {
		o.Stations = DefaultStations
	}
	var check refusal.Check
	check.Within("station_count", float64(o.Stations), 2, 2001)
	if check.Within("slice_count", float64(o.Slices), 10, 1000) && o.Slices%2 != 0 {
		check.Add("slice_count", refusal.Number(float64(o.Slices)), "must be even", "")
	}
	if err := check.Err(); err != nil {
		return nil, err
	}
	c := &Coefficients{stack: p}
	rolls := p.rolls()
	for k, l := range laws {
		c.joints = append(c.joints, newJoint(rolls[k].Roll, rolls[k+1].Roll, o, l))
		c.joints[k].scale = c.joints[k].width / c.joints[0].width
	}
	for k, r := range rolls {
		clamp := 0.0 // within both joints of an intermediate roll
		switch k {
		case 0:
			clamp = c.joints[0].middle()
		case len(rolls) - 1:
			clamp = c.joints[k-1].middle()
		}
		c.beams = append(c.beams, newBeam(r.Roll, clamp))
	}
	c.buildFull()
	for _, v := range c.full.a {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			return nil, refusal.One("work", "", "and the rolls behind it are stiff or soft beyond what a number can hold", "check units")
		}
	}
	c.full.touching = c.touching(&c.full)
	if p.centred() {
		c.buildHalf()
		c.half.touching = c.touching(&c.half)
	}
	return c, nil
}

func newJoint(front, behind Roll, o Options, l law) joint {
	j := joint{law: l, centres: make([]float64, o.Slices), stations: make([]float64, o.Stations)}
	j.left, j.right = overlap(front, behind)
	j.width = (j.right - j.left) / float64(o.Slices)
	// From the middle, so that the two halves mirror each other exactly.
	for i := range j.centres {
		j.centres[i] = j.middle() + j.width*(float64(i)-float64(o.Slices-1)/2)
	}
	for i := range j.stations {
		j.stations[i] = j.middle() + (j.right-j.left)/2*float64(2*i-o.Stations+1)/float64(o.Stations-1)
	}
	return j
}

// work, inner and backup are the beams; inner is nil in a four-high stand.
func (c *Coefficients) work() *beam   { return &c.beams[0] }
func (c *Coefficients) backup() *beam { return &c.beams[len(c.beams)-1] }

func (c *Coefficients) inner() *beam {
	if len(c.beams) == mostJoints+1 {
		return &c.beams[1]
	}
	return nil
}

// place is where one slice or point lies on a beam, with what held needs of it.
type place struct {
	side     int
	distance float64
	shares   [2]float64
	bearing  float64
}

func (b *beam) slicePlace(x, w float64) place {
	side, d := b.away(x)
	return place{side, d, b.shares(x), b.bearingOnSlice(side, d, w)}
}

func (b *beam) pointPlace(x float64) place {
	side, d := b.away(x)
	return place{side, d, b.shares(x), b.bearingOnPoint(side, d)}
}

// buildFull fills the coefficients of whole barrels. A joint feels the roll in
// front of it and the roll behind it; the line load of one joint of an
// intermediate roll bends it away from that of the other.
func (c *Coefficients) buildFull() {
	y := &c.full
	n := len(c.joints[0].centres)
	total := n * len(c.joints)
	*y = system{slices: total, position: make([]float64, total), a: make([]float64, total*total)}
	stations := len(c.joints[0].stations)
	y.workRows = make([]float64, (stations+1)*total)
	for k := range c.joints {
		j := &c.joints[k]
		y.parts = append(y.parts, part{from: k * n, to: (k + 1) * n, rows: make([]float64, (stations+1)*total)})
		for i, x := range j.centres {
			y.position[k*n+i] = j.along(x)
		}
	}
	last := len(c.joints) - 1
	c.addEnds(0, c.work(), false)
	c.addEnds(last, c.backup(), true)
	if last > 0 {
		c.addInner()
	}
}

// addEnds adds the first or the last roll of the stack to the joint it takes
// part in: clamped in the joint's middle, and held at its bearings where it is
// the last.
func (c *Coefficients) addEnds(k int, b *beam, held bool) {
	y, j, p := &c.full, &c.joints[k], &c.full.parts[k]
	unit, w := c.joints[0].width, j.width
	places := make([]place, len(j.centres))
	for i, x := range j.centres {
		places[i] = b.slicePlace(x, w)
	}
	for i, pi := range places {
		for l := i; l < len(places); l++ {
			pl, v := places[l], 0.0
			if pi.side == pl.side {
				v = b.sliceOnSlice(pi.distance, pl.distance, w)
			}
			if held {
				v = b.held(v, pi, pl)
			}
			y.a[(p.from+i)*y.slices+p.from+l] += unit * v
			if l != i {
				y.a[(p.from+l)*y.slices+p.from+i] += unit * v
			}
		}
	}
	for s := range len(j.stations) + 1 {
		x := 0.0
		if s < len(j.stations) {
			x = j.stations[s]
		}
		at := b.pointPlace(x)
		row := y.row(p.rows, s)[p.from:p.to]
		for i, pi := range places {
			v := 0.0
			if at.side == pi.side {
				v = b.pointOnSlice(at.distance, pi.distance, w)
			}
			if held {
				v = b.held(v, at, pi)
			}
			row[i] += unit * v
			if k == 0 && !held {
				y.row(y.workRows, s)[i] = unit * v
			}
		}
	}
}

// addInner adds the intermediate roll, which both joints bend.
func (c *Coefficients) addInner() {
	y, b, unit := &c.full, c.inner(), c.joints[0].width
	sign := func(k, l int) float64 {
		if k == l {
			return unit
		}
		return -unit
	}
	for k := range c.joints {
		for l := range c.joints {
			j, other, p, q := &c.joints[k], &c.joints[l], &y.parts[k], &y.parts[l]
			for i := range j.centres {
				lo, hi := j.slice(i)
				row := y.row(y.a, p.from+i)[q.from:q.to]
				for m := range other.centres {
					if at := q.from + m; at < p.from+i {
						row[m] = y.a[at*y.slices+p.from+i]
						continue
					}
					lo2, hi2 := other.slice(m)
					row[m] += sign(k, l) * b.lengthOnLength(lo, hi, lo2, hi2)
				}
			}
			for s := range len(j.stations) + 1 {
				x := 0.0
				if s < len(j.stations) {
					x = j.stations[s]
				}
				row := y.row(p.rows, s)[q.from:q.to]
				for m := range other.centres {
					lo, hi := other.slice(m)
					row[m] += sign(k, l) * b.pointOnLength(x, lo, hi)
				}
			}
		}
	}
}

// buildHalf folds the coefficients over: the load of a slice stands for its
// mirror image too.
func (c *Coefficients) buildHalf() {
	f := &c.full
	m := len(c.joints[0].centres) / 2
	total := m * len(c.joints)
	y := &c.half
	*y = system{slices: total, folded: true, position: make([]float64, total), a: make([]float64, total*total)}
	fold := func(to, from []float64) {
		for k := range c.joints {
			middle := from[f.parts[k].from+m:]
			for i := range m {
				to[k*m+i] = middle[i] + from[f.parts[k].from+m-1-i]
			}
		}
	}
	firstStation := len(c.joints[0].stations) / 2
	rows := len(c.joints[0].stations) + 1 - firstStation
	foldRows := func(from []float64) []float64 {
		to := make([]float64, rows*total)
		for i := range rows {
			fold(y.row(to, i), f.row(from, i+firstStation))
		}
		return to
	}
	for k := range c.joints {
		from := f.parts[k].from + m
		copy(y.position[k*m:(k+1)*m], f.position[from:])
		for i := range m {
			fold(y.row(y.a, k*m+i), f.row(f.a, from+i))
		}
		y.parts = append(y.parts, part{from: k * m, to: (k + 1) * m, first: m, firstStation: firstStation, rows: foldRows(f.parts[k].rows)})
	}
	y.workRows = foldRows(f.workRows)
}

// usualNPerMM is a line load at which to take the slope of a contact where none
// is known yet: it changes by a few per cent over all that rolls bear.
const usualNPerMM = 5000

func (c *Coefficients) touching(y *system) *held {
	root := make([]float64, y.slices)
	for k, p := range y.parts {
		j := &c.joints[k]
		_, slope := j.law.LineLoad(j.law.Approach(usualNPerMM))
		for i := p.from; i < p.to; i++ {
			root[i] = math.Sqrt(j.scale * slope)
		}
	}
	d := newHeld(y.slices)
	d.make(y, root)
	return &d
}

// workDeflection is what the line load q of all slices takes off the work
// roll's clamped lift at any x of its barrel.
func (c *Coefficients) workDeflection(x float64, q []float64) float64 {
	b, j := c.work(), &c.joints[0]
	side, d := b.away(x)
	sum := 0.0
	for i, xi := range j.centres {
		if si, di := b.away(xi); si == side {
			sum += q[i] * b.pointOnSlice(d, di, j.width)
		}
	}
	return sum * j.width
}

var _ law = (*contact.Law)(nil)
