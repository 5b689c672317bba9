// Package gap finds how the gap between the work rolls has changed under the
// strip since the rolls were ground: by wear, heat, the contours they are shifted
// to, the bending of their axes and the angle they cross at. That change is what
// bending, shift and cooling must take up, or the strip gets it as crown and bad
// flatness.
//
// Axis x runs along the mill from its centre line towards the operator side;
// the drive side lies at negative x. Gaps are µm, positive where the gap is wider,
// profiles µm on diameter.
package gap

import (
	"math"

	"barrelbook/domain/refusal"
	"barrelbook/domain/rollload"
)

// Roll is one of the two work rolls as it faces the strip.
type Roll struct {
	BarrelMM float64
	// OffsetMM is where its middle lies along the mill; a shifted pair has one
	// roll at +s and the other at −s.
	OffsetMM float64
	// Ground is the contour as ground; what it does to the gap is counted
	// against the same roll unshifted.
	Ground rollload.Profile
	// WearUM and HeatUM are what was worn off and how much it has grown, along
	// the roll.
	WearUM, HeatUM rollload.Points
	// AxisUM is how much farther the loaded axis has come from the strip than it
	// would under the same load with the rolls as ground, along the mill.
	AxisUM rollload.Points
}

// Parts is the change of the gap at one place, by what made it, µm.
type Parts struct {
	WearUM, HeatUM, ContourUM, BendingUM, CrossUM float64
}

// TotalUM is the sum of the parts.
func (p Parts) TotalUM() float64 {
	return p.WearUM + p.HeatUM + p.ContourUM + p.BendingUM + p.CrossUM
}

func (p Parts) times(f float64) Parts {
	return Parts{f * p.WearUM, f * p.HeatUM, f * p.ContourUM, f * p.BendingUM, f * p.CrossUM}
}

func (p Parts) plus(o Parts) Parts {
	return Parts{p.WearUM + o.WearUM, p.HeatUM + o.HeatUM, p.ContourUM + o.ContourUM, p.BendingUM + o.BendingUM, p.CrossUM + o.CrossUM}
}

// Gap is the two rolls under one strip.
type Gap struct {
	Top, Bottom Roll
	// Cross is the angle of the pair and the diameter it is reckoned with.
	Cross Cross
	// WidthMM and OffsetMM are the strip's width and where its middle runs.
	WidthMM, OffsetMM float64
	// EdgeMM is how far inside the strip's edge its crown is taken: 25 or 40 as a
	// rule, by the mill's practice.
	EdgeMM float64
}

// DefaultEdgeMM is the distance from the strip's edge at which crown is taken
// where a practice does not say: common practice, no source.
const DefaultEdgeMM = 40

// Check refuses a gap that is none: a barrel or strip without a length, a strip
// that lies off a barrel, an edge distance that leaves nothing between.
func (g *Gap) Check() error {
	var c refusal.Check
	for _, r := range []struct {
		name string
		*Roll
	}{{"top", &g.Top}, {"bottom", &g.Bottom}} {
		if c.Positive(r.name+"/barrel_length_mm", r.BarrelMM) {
			c.Within(r.name+"/axial_offset_mm", r.OffsetMM, -r.BarrelMM/4, r.BarrelMM/4)
			r.Ground.Check(&c, r.name, r.BarrelMM)
		}
		r.WearUM.Check(&c, r.name+"/wear", "/depth_um")
		r.HeatUM.Check(&c, r.name+"/growth", "/diameter_um")
		r.AxisUM.Check(&c, r.name+"/axis", "/lift_um")
	}
	if c.Positive("width_mm", g.WidthMM) && c.Finite("lateral_offset_mm", g.OffsetMM) && c.Err() == nil {
		for _, r := range []*Roll{&g.Top, &g.Bottom} {
			if math.Abs(g.OffsetMM-r.OffsetMM)+g.WidthMM/2 > r.BarrelMM/2+0.001 {
				c.Add("width_mm", refusal.Number(g.WidthMM), "does not lie on a barrel of "+refusal.Number(r.BarrelMM)+" mm at "+
					refusal.Number(g.OffsetMM-r.OffsetMM)+" mm from its middle", "check width, offset and shift")
				break
			}
		}
		c.Within("edge_mm", g.EdgeMM, 0, g.WidthMM/2-1)
	}
	g.Cross.check(&c)
	return c.Err()
}

// At is the change of the gap at x against the middle of the strip.
func (g *Gap) At(x float64) Parts {
	return g.raw(x).plus(g.raw(g.OffsetMM).times(-1))
}

// raw is the change at x by itself: half of what the diameters lost, and what the
// axes moved apart.
func (g *Gap) raw(x float64) (p Parts) {
	for _, r := range [...]*Roll{&g.Top, &g.Bottom} {
		at := x - r.OffsetMM
		p.WearUM += r.WearUM.At(at) / 2
		p.HeatUM -= r.HeatUM.At(at) / 2
		if r.OffsetMM != 0 {
			p.ContourUM -= (r.Ground.AtUM(at, r.BarrelMM) - r.Ground.AtUM(x, r.BarrelMM)) / 2
		}
		p.BendingUM += r.AxisUM.At(x)
	}
	p.CrossUM = g.Cross.AtUM(x)
	return p
}

// Shape is what flatness and crown control see of a gap, µm. Each is positive
// where the strip comes out thicker there than a gap that has not changed would
// make it.
type Shape struct {
	// CentreToEdgeUM is the gap in the middle of the strip over that at EdgeMM
	// from its edges: the change of strip crown.
	CentreToEdgeUM float64
	// QuarterUM is the gap halfway between there and the middle over the parabola
	// through middle and edges: what a crown that bends as a parabola leaves
	// behind.
	QuarterUM float64
	// WedgeUM is the gap at the operator side's edge over that at the drive
	// side's.
	WedgeUM float64
	// Parts is CentreToEdgeUM by what made it.
	Parts Parts
}

// Shape measures the gap across the strip.
func (g *Gap) Shape() Shape {
	s := Shape{QuarterUM: g.Quarter().Of(func(x float64) float64 { return g.raw(x).TotalUM() })}
	for _, w := range g.Crown() {
		s.Parts = s.Parts.plus(g.raw(w.X).times(w.Weight))
	}
	s.CentreToEdgeUM = s.Parts.TotalUM()
	reach := g.reach()
	s.WedgeUM = g.raw(g.OffsetMM+reach).TotalUM() - g.raw(g.OffsetMM-reach).TotalUM()
	return s
}

// Weights are places along the mill and what the gap counts there.
type Weights []struct{ X, Weight float64 }

// Of is the weighed sum of a curve along the mill.
func (w Weights) Of(curve func(x float64) float64) (sum float64) {
	for _, at := range w {
		sum += at.Weight * curve(at.X)
	}
	return sum
}

func (g *Gap) reach() float64 { return g.WidthMM/2 - g.EdgeMM }

// Crown weighs the gap for Shape.CentreToEdgeUM.
func (g *Gap) Crown() Weights {
	reach := g.reach()
	return Weights{{g.OffsetMM - reach, -0.5}, {g.OffsetMM, 1}, {g.OffsetMM + reach, -0.5}}
}

// Quarter weighs the gap for Shape.QuarterUM: half the sum at the quarter points,
// less the parabola there, which has ¾ of the middle and ¼ of the edges.
func (g *Gap) Quarter() Weights {
	reach := g.reach()
	return Weights{{g.OffsetMM - reach, -0.125}, {g.OffsetMM - reach/2, 0.5}, {g.OffsetMM, -0.75}, {g.OffsetMM + reach/2, 0.5}, {g.OffsetMM + reach, -0.125}}
}
