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

// Options say how finely a pair is cut up.
type Options struct {
	// Slices is the even number of slices of the common barrel, 10 to 1000.
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

// Coefficients are the influence coefficients of one pair: how far the axes
// move apart in one slice, or at one station, under a unit line load on
// another. They depend on geometry and material only. Make them once and share
// them: they are never changed.
type Coefficients struct {
	pair         Pair
	law          law
	work, backup beam
	left, right  float64 // ends of the common barrel, mm
	width        float64 // of a slice, mm
	centres      []float64
	stations     []float64
	full         system
	half         system // of the right half, folded; empty when a roll is shifted
}

// system is the equations of the whole barrel, or of its right half when both
// halves are alike.
type system struct {
	slices   int
	first    int       // the first of its slices among all
	position []float64 // of each slice, from the middle, over half the barrel
	a        []float64 // work and backup, slices × slices, symmetric
	// The first station of its own, and for each, then for x = 0, a row of
	// coefficients: of both rolls and of the work roll alone.
	firstStation   int
	rows, workRows []float64
}

// row gives row i of the station coefficients; the last row is that of x = 0.
func (y *system) row(all []float64, i int) []float64 { return all[i*y.slices : (i+1)*y.slices] }

// NewCoefficients checks a pair and works out its influence coefficients.
func NewCoefficients(p Pair, o Options) (*Coefficients, error) {
	l, err := p.law()
	if err != nil {
		return nil, err
	}
	return newCoefficients(p, o, &l)
}

func newCoefficients(p Pair, o Options, l law) (*Coefficients, error) {
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
	c := &Coefficients{pair: p, law: l}
	c.left, c.right = p.overlap()
	middle := (c.left + c.right) / 2
	c.width = (c.right - c.left) / float64(o.Slices)
	c.work, c.backup = newBeam(p.Work, middle), newBeam(p.Backup, middle)
	c.centres = make([]float64, o.Slices)
	for i := range c.centres {
		c.centres[i] = middle + c.width*(float64(i)-float64(o.Slices-1)/2)
	}
	c.stations = make([]float64, o.Stations)
	for i := range c.stations {
		// From the middle, so that the two halves mirror each other exactly.
		c.stations[i] = middle + (c.right-c.left)/2*float64(2*i-o.Stations+1)/float64(o.Stations-1)
	}
	c.buildFull()
	for _, v := range c.full.a {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			return nil, refusal.One("work", "", "and backup are stiff or soft beyond what a number can hold", "check units")
		}
	}
	if p.centred() {
		c.buildHalf()
	}
	return c, nil
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

// buildFull fills the coefficients of the whole barrel.
func (c *Coefficients) buildFull() {
	n, w := len(c.centres), c.width
	middle, half := (c.left+c.right)/2, (c.right-c.left)/2
	y := &c.full
	*y = system{slices: n, position: make([]float64, n), a: make([]float64, n*n)}
	places := make([]place, n)
	for i, x := range c.centres {
		y.position[i] = (x - middle) / half
		places[i] = c.backup.slicePlace(x, w)
	}
	for i, pi := range places {
		for j := i; j < n; j++ {
			pj := places[j]
			var gWork, gBackup float64
			if pi.side == pj.side {
				gWork = c.work.sliceOnSlice(pi.distance, pj.distance, w)
				gBackup = c.backup.sliceOnSlice(pi.distance, pj.distance, w)
			}
			v := w * (gWork + c.backup.held(gBackup, pi, pj))
			y.a[i*n+j], y.a[j*n+i] = v, v
		}
	}
	rows := len(c.stations) + 1
	y.rows, y.workRows = make([]float64, rows*n), make([]float64, rows*n)
	for i := range rows {
		x := 0.0
		if i < len(c.stations) {
			x = c.stations[i]
		}
		c.pointRow(x, places, y.row(y.rows, i), y.row(y.workRows, i))
	}
}

// pointRow fills the coefficients of one point of the common barrel.
func (c *Coefficients) pointRow(x float64, places []place, both, work []float64) {
	p := c.backup.pointPlace(x)
	for j, pj := range places {
		var gBackup float64
		work[j] = 0
		if p.side == pj.side {
			work[j] = c.width * c.work.pointOnSlice(p.distance, pj.distance, c.width)
			gBackup = c.backup.pointOnSlice(p.distance, pj.distance, c.width)
		}
		both[j] = work[j] + c.width*c.backup.held(gBackup, p, pj)
	}
}

// buildHalf folds the coefficients over: the load of a slice stands for its
// mirror image too.
func (c *Coefficients) buildHalf() {
	f, n := &c.full, c.full.slices
	m := n / 2
	y := &c.half
	*y = system{slices: m, first: m, position: f.position[m:], a: make([]float64, m*m), firstStation: len(c.stations) / 2}
	fold := func(to, from []float64) {
		for j := range to {
			to[j] = from[m+j] + from[m-1-j]
		}
	}
	for i := range m {
		fold(y.a[i*m:(i+1)*m], f.a[(m+i)*n:(m+i+1)*n])
	}
	rows := len(c.stations) + 1 - y.firstStation
	y.rows, y.workRows = make([]float64, rows*m), make([]float64, rows*m)
	for i := range rows {
		fold(y.row(y.rows, i), f.row(f.rows, i+y.firstStation))
		fold(y.row(y.workRows, i), f.row(f.workRows, i+y.firstStation))
	}
}

// workDeflection is what the line load q of all slices takes off the work
// roll's clamped lift at any x of its barrel.
func (c *Coefficients) workDeflection(x float64, q []float64) float64 {
	side, d := c.work.away(x)
	sum := 0.0
	for j, xj := range c.centres {
		if sj, dj := c.work.away(xj); sj == side {
			sum += q[j] * c.work.pointOnSlice(d, dj, c.width)
		}
	}
	return sum * c.width
}

var _ law = (*contact.Law)(nil)
