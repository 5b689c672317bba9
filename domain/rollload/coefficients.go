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
func (c *Coefficients) work() *beam { return &c.beams[0] }

func (c *Coefficients) backup() *beam { return &c.beams[len(c.beams)-1] }

func (c *Coefficients) inner() *beam {
	if len(c.beams) == mostJoints+1 {
		return &c.beams[1]
	}
	return nil
}
