package rollload

import (
	"barrelbook/domain/contact"
)

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

var _ law = (*contact.Law)(nil)
