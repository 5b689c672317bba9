package wear

import "barrelbook/domain/refusal"

// Shape is s(x), how wear is spread across the strip: 1 inside, softened at
// the strip edge, raised just inside the edge where the strip is colder and
// thinner. As a function of the distance d inside the strip edge it is
// piecewise linear:
//
//	0 at d = -SoftMM/2,   1+EdgeRise at d = +SoftMM/2,   1 from d = ReachMM on
//
// mirrored at the strip's middle. So ∫s dx = B + EdgeRise·(ReachMM + SoftMM/2)
// for a strip wider than 2·ReachMM. A strip narrower than SoftMM is softened
// over its own width.
//
// Common practice, no source: softened over 10 to 30 mm; raised 10 to 40 %
// within 30 to 80 mm of the edge for hot strip, not raised elsewhere.
type Shape struct {
	// SoftMM is the width over which the edge is softened, centred on the
	// strip edge. Zero is a sharp edge.
	SoftMM float64
	// EdgeRise is how much deeper the edge wears, as a fraction. Zero for none.
	EdgeRise float64
	// ReachMM is how far inside the edge the rise ends. It must be above
	// SoftMM/2 where EdgeRise is not zero.
	ReachMM float64
}

// PlainShape is softened over 20 mm and not raised: cold, temper and plate.
func PlainShape() Shape { return Shape{SoftMM: 20} }

// HotStripShape is softened over 20 mm and raised 20 % within 60 mm.
func HotStripShape() Shape { return Shape{SoftMM: 20, EdgeRise: 0.20, ReachMM: 60} }

func (s Shape) check(c *refusal.Check) {
	c.Within("wear_shape/soft_mm", s.SoftMM, 0, 200)
	c.Within("wear_shape/edge_rise", s.EdgeRise, 0, 5)
	c.Within("wear_shape/reach_mm", s.ReachMM, 0, 1000)
	if s.EdgeRise > 0 && s.ReachMM <= s.SoftMM/2 {
		c.Add("wear_shape/reach_mm", refusal.Number(s.ReachMM), "must be above half of soft_mm where the edge is raised", "")
	}
}

// across is a shape laid over one strip width.
type across struct {
	half, soft, reach, rise float64 // soft: half of the softened width
	full                    float64 // area from outside up to the middle
}

func (s Shape) over(widthMM float64) across {
	a := across{half: widthMM / 2, soft: min(s.SoftMM, widthMM) / 2, rise: s.EdgeRise}
	a.reach = max(s.ReachMM, a.soft)
	a.full = a.fromOutside(a.half)
	return a
}

// area is ∫₀ᵘ s dx from the middle of the strip, odd in u.
func (a across) area(u float64) float64 {
	if u < 0 {
		return a.fromOutside(a.half+u) - a.full
	}
	return a.full - a.fromOutside(a.half-u)
}

// fromOutside is the area under the edge from far outside to d inside it.
func (a across) fromOutside(d float64) float64 {
	peak := 1 + a.rise
	switch {
	case d <= -a.soft:
		return 0
	case d < a.soft:
		return peak * (d + a.soft) * (d + a.soft) / (4 * a.soft)
	case d < a.reach:
		fall, left := a.reach-a.soft, a.reach-d
		return peak*a.soft + (d - a.soft) + a.rise*(fall*fall-left*left)/(2*fall)
	default:
		return peak*a.soft + (d - a.soft) + a.rise*(a.reach-a.soft)/2
	}
}
