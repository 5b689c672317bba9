package rollload

import (
	"math"
)

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
