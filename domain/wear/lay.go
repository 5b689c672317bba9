// Package wear computes how the barrels and grooves of rolls wear: depth along
// the barrel laid down piece by piece, the decay of ground roughness, and
// grooves by the tonnes that went through them.
//
// Depths are micrometres on DIAMETER, as the grinder reads them; half of that
// is the depth on the radius. Rates are a mill's own, learned from its
// regrinds; nothing here is a constant of nature.
package wear

import (
	"math"

	"barrelbook/domain/refusal"
)

// ReferenceKNPerMM is the specific force at which a rate is quoted, the 10 of
// "µm per km at 10 kN/mm".
const ReferenceKNPerMM = 10

// DefaultExponent is how wear depends on specific force when a rate does not
// say: in proportion, as in Archard's law. The literature has 0.6 to 1.2.
const DefaultExponent = 1

// deepestLayUM bounds what one call may add: a metre. Nothing real comes near
// it; it keeps slipped units from turning into infinities.
const deepestLayUM = 1e6

// Pass is what one piece did at one stand in one pass.
type Pass struct {
	// StripWidthMM is the width B of the strip in the gap.
	StripWidthMM float64
	// LateralOffsetMM is where the middle of the strip ran, measured from the
	// middle of this barrel; a roll shifted by +a sees a centred strip at -a.
	LateralOffsetMM float64
	// RolledKM is the length l that left the gap; see RolledKM.
	RolledKM float64
	// ForceKN is the separating force F of the pass. Zero lays no wear.
	ForceKN float64
}

// Rate is how fast a grade of roll wears at a stand.
type Rate struct {
	// UmPerKmAt10 is κ, µm on diameter per km rolled at 10 kN/mm.
	UmPerKmAt10 float64
	// Exponent is a of (q̄/10)ᵃ, above 0 and at most 2. Defaults to
	// DefaultExponent when zero.
	Exponent float64
	// Shape is s(x) across the strip. The zero Shape is a sharp-edged
	// rectangle; PlainShape and HotStripShape are the usual ones.
	Shape Shape
}

func (r Rate) exponent() float64 {
	if r.Exponent == 0 {
		return DefaultExponent
	}
	return r.Exponent
}

func (r Rate) check(c *refusal.Check) {
	c.NotNegative("rate_um_per_km", r.UmPerKmAt10)
	checkExponent(c, r.exponent())
	r.Shape.check(c)
}

func checkExponent(c *refusal.Check, a float64) {
	if c.Positive("wear_exponent", a) {
		c.Within("wear_exponent", a, 0, 2)
	}
}

// depthUM is κ·(q/10)ᵃ·l.
func (r Rate) depthUM(specificKNPerMM, km float64) float64 {
	x := specificKNPerMM / ReferenceKNPerMM
	if a := r.exponent(); a != 1 {
		x = math.Pow(x, a)
	}
	return r.UmPerKmAt10 * x * km
}

// Lay adds the wear of one pass to depthUM, one value per station of g:
//
//	w(x) = κ·(q̄/10)ᵃ·l·s(x),   q̄ = F/B in kN/mm
//
// The form is Archard's (J. F. Archard, "Contact and rubbing of flat surfaces",
// Journal of Applied Physics 24, 1953: worn volume in proportion to load and
// sliding distance) put into a roll shop's units, with the force exponent and
// the shape across the strip added by common practice, no source.
//
// Each station receives the mean of w over its own cell, half a step to either
// side (the end stations: the half that is on the barrel). So the worn area
// ∫w dx is kept whatever the number of stations and wherever the strip edge
// falls between two of them, at the price that a peak narrower than a step is
// flattened: with 41 stations on a 1780 mm barrel the hot strip shape's edge
// rise of 20 % comes out as 2 to 12 %, by where the edge falls; with 161
// stations as 15 to 18 %. Learn the rate on the grid it is used on. The sum over
// pieces is exact and its order does not matter.
//
// Width must be above 0 and the strip must lie on the barrel; length and force
// must not be negative. On an error depthUM is unchanged. Nothing is
// allocated.
func (g Grid) Lay(depthUM []float64, p Pass, r Rate) error {
	var c refusal.Check
	g.checkDepth(&c, depthUM)
	r.check(&c)
	c.NotNegative("rolled_km", p.RolledKM)
	c.NotNegative("force_kn", p.ForceKN)
	if c.Positive("strip_width_mm", p.StripWidthMM) && c.Finite("lateral_offset_mm", p.LateralOffsetMM) {
		g.checkOnBarrel(&c, "strip_width_mm", p.StripWidthMM, p.LateralOffsetMM)
	}
	if err := c.Err(); err != nil {
		return err
	}
	inside := r.depthUM(p.ForceKN/p.StripWidthMM, p.RolledKM)
	if err := checkLaid(inside * (1 + r.Shape.EdgeRise)); err != nil {
		return err
	}

	s := r.Shape.over(p.StripWidthMM)
	left := -g.barrelMM / 2
	areaLeft := s.area(left - p.LateralOffsetMM)
	for i := range depthUM {
		right := g.cellRight(i)
		areaRight := s.area(right - p.LateralOffsetMM)
		depthUM[i] += inside * (areaRight - areaLeft) / (right - left)
		left, areaLeft = right, areaRight
	}
	return nil
}

// LayContact adds the wear that a line load along the barrel makes, station by
// station, as between a backup roll and its work roll:
//
//	w(x) = κ·(q(x)/10)ᵃ·l,   q in kN/mm
//
// lineLoadNPerMM has one value in N/mm per station of g, none negative (0 where
// the rolls part); rolledKM is the surface length that passed. The rate's
// shape is not used: the load is the shape. On an error depthUM is unchanged.
func (g Grid) LayContact(depthUM, lineLoadNPerMM []float64, rolledKM float64, r Rate) error {
	var c refusal.Check
	g.checkDepth(&c, depthUM)
	r.check(&c)
	c.NotNegative("rolled_km", rolledKM)
	if len(lineLoadNPerMM) != len(depthUM) {
		c.Add("line_load_n_per_mm", count(len(lineLoadNPerMM)), "must have one value per station", "")
	}
	greatest := 0.0
	for _, q := range lineLoadNPerMM {
		if !c.NotNegative("line_load_n_per_mm", q) {
			break
		}
		greatest = max(greatest, q)
	}
	if err := c.Err(); err != nil {
		return err
	}
	if err := checkLaid(r.depthUM(greatest/1000, rolledKM)); err != nil {
		return err
	}
	for i, q := range lineLoadNPerMM {
		depthUM[i] += r.depthUM(q/1000, rolledKM)
	}
	return nil
}

// checkLaid refuses a depth no roll can have. Zero length at an overflowing
// force is NaN, hence the way round the comparison is written.
func checkLaid(um float64) error {
	if !(um <= deepestLayUM) {
		return refusal.One("rolled_km", "", "with this force and rate wears more than a metre off the roll",
			"check the units of length, force and rate")
	}
	return nil
}
