package rollload

import (
	"barrelbook/domain/refusal"
)

// stretch is a piece of the work roll under one straight piece of the strip
// load, with the state of the beam at its inner end. Distances run from the
// clamp outward, on either side.
type stretch struct {
	from, load, slope float64 // mm, N/mm, N/mm²
	shear, moment     float64 // N, N·mm
	rotation, lift    float64 // ψ and y, mm
}

// strip is what the strip and the bending forces alone do to a roll, clamped at
// its clamp: exact polynomials, stretch by stretch.
type strip struct {
	beam          *beam
	total, moment float64 // resultant of strip and bending forces, about the clamp
	sides         [2][]stretch
	hint          int // the stretch last used, for walks along the barrel
}

// state is the beam at a distance t beyond the inner end of the stretch,
// integrated exactly for f = load + slope·t:
//
//	V' = f,   M' = V,   ψ' = M/EI,   y' = ψ − V/(κGA)
func (s *stretch) state(b *beam, t float64) stretch {
	p, k, v, m := s.load, s.slope, s.shear, s.moment
	return stretch{
		from:     s.from + t,
		shear:    v + t*(p+t*k/2),
		moment:   m + t*(v+t*(p/2+t*k/6)),
		rotation: s.rotation + t*(m+t*(v/2+t*(p/6+t*k/24)))/b.ei,
		lift: s.lift + t*s.rotation + t*t*(m/2+t*(v/6+t*(p/24+t*k/120)))/b.ei -
			t*(v+t*(p/2+t*k/6))/b.kga,
	}
}

// lay takes the load p (N/mm up, straight between its points, 0 beyond) and a
// bending force at each bearing. It reuses its memory.
func (s *strip) lay(b *beam, p *Points, bending float64) {
	s.beam, s.total, s.moment = b, 0, 0
	for side, sign := range [2]float64{-1, 1} {
		list := append(s.sides[side][:0], stretch{})
		n := len(p.XMM)
		force, moment := bending, bending*b.bearing[side]
		for k := range n - 1 {
			i, j := k, k+1
			if side == left {
				i, j = n-1-k, n-2-k
			}
			x0, x1, p0, p1 := sign*(p.XMM[i]-b.clamp), sign*(p.XMM[j]-b.clamp), p.Value[i], p.Value[j]
			if x1 <= 0 {
				continue
			}
			slope := (p1 - p0) / (x1 - x0)
			if x0 <= 0 { // the strip lies over the clamp: no bare stretch there
				p0, x0, list = p0-slope*x0, 0, list[:0]
			}
			list = append(list, stretch{from: x0, load: p0, slope: slope})
			width := x1 - x0
			f := width * (p0 + p1) / 2
			force += f
			moment += f*x0 + width*width*(p0+2*p1)/6
			if k == n-2 {
				list = append(list, stretch{from: x1})
			}
		}
		list[0].shear, list[0].moment = -force, moment
		for k := 1; k < len(list); k++ {
			end := list[k-1].state(b, list[k].from-list[k-1].from)
			list[k].shear, list[k].moment, list[k].rotation, list[k].lift = end.shear, end.moment, end.rotation, end.lift
		}
		s.sides[side] = list
		s.total += force
		s.moment += sign * moment
	}
}

// at is the lift y of the clamped roll at x and its second derivative
// y” = M/EI − f/(κGA).
func (s *strip) at(x float64) (lift, curvature float64) {
	side, d := s.beam.away(x)
	list := s.sides[side]
	i := min(s.hint, len(list)-1)
	for i > 0 && d < list[i].from {
		i--
	}
	for i+1 < len(list) && d >= list[i+1].from {
		i++
	}
	s.hint = i
	t := d - list[i].from
	st := list[i].state(s.beam, t)
	return st.lift, st.moment/s.beam.ei - (list[i].load+t*list[i].slope)/s.beam.kga
}

// checkStrip adds the refusals of a strip load on the work roll.
func checkStrip(c *refusal.Check, p *Points, work Roll) {
	if len(p.XMM) < 2 {
		c.Add("strip_load/x_mm", "", "must hold at least two points", "")
		return
	}
	p.check(c, "strip_load", "", "/n_per_mm")
	if len(p.Value) != len(p.XMM) {
		return
	}
	for i, v := range p.Value {
		if v < 0 {
			c.Add("strip_load/n_per_mm/"+refusal.Number(float64(i)), refusal.Number(v), "must not be below 0", "")
		}
	}
	lo, hi := work.AxialOffsetMM-work.BarrelLengthMM/2, work.AxialOffsetMM+work.BarrelLengthMM/2
	const rounding = 1e-6 // mm: a strip as wide as the barrel is still on it
	if last := len(p.XMM) - 1; p.XMM[0] < lo-rounding || p.XMM[last] > hi+rounding {
		c.Add("strip_load/x_mm", refusal.Number(p.XMM[0])+" to "+refusal.Number(p.XMM[last]),
			"must lie on the work roll's barrel, "+refusal.Number(lo)+" to "+refusal.Number(hi), "")
	}
}
