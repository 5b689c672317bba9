package rollforce

import (
	"math"

	"barrelbook/domain/refusal"
)

// DriveEnd is the end of a roll that its spindle turns it by: a wobbler or a
// spade. What is 0 is not known, and an end that is not known is not looked at.
type DriveEnd struct {
	// WobblerDiameterMM is over the lobes.
	WobblerDiameterMM float64
	// SpadeWidthMM and SpadeThicknessMM are the sides of its section.
	SpadeWidthMM, SpadeThicknessMM float64
}

// ShearMPa is the greatest shear of the end under a torque T ≥ 0; known is false
// where its dimensions are not. Of a wobbler of diameter d, and of a rectangular
// spade with half sides a ≥ b,
//
//	wobbler: τ = T/(0.07·d³)
//	spade:   τ = 3T/(8ab²)·[1 + 0.6095β + 0.8865β² − 1.8023β³ + 0.9100β⁴],   β = b/a
//
// The wobbler's factor is common practice, quoted from memory. The spade is
// Roark's rectangular section in torsion (quoted from memory, within 0.5 % of
// Timoshenko's table of it, tested). Neither holds the pressure of the coupling
// or the notch where the end meets the neck.
func (e DriveEnd) ShearMPa(torqueNM float64) (mpa float64, known bool) {
	switch {
	case e.WobblerDiameterMM > 0:
		return 1000 * torqueNM / (0.07 * math.Pow(e.WobblerDiameterMM, 3)), true
	case e.SpadeWidthMM > 0 && e.SpadeThicknessMM > 0:
		a, b := max(e.SpadeWidthMM, e.SpadeThicknessMM)/2, min(e.SpadeWidthMM, e.SpadeThicknessMM)/2
		flat := b / a
		form := 1 + flat*(0.6095+flat*(0.8865+flat*(-1.8023+flat*0.9100)))
		return 3 * 1000 * torqueNM / (8 * a * b * b) * form, true
	}
	return 0, false
}

func (e DriveEnd) check(c *refusal.Check) {
	c.NotNegative("wobbler_diameter_mm", e.WobblerDiameterMM)
	c.NotNegative("spade_width_mm", e.SpadeWidthMM)
	c.NotNegative("spade_thickness_mm", e.SpadeThicknessMM)
}

// BearingTorqueNM is what the friction of a roll's two neck bearings takes when
// they carry a force F between them, T = μ·F·d/2 with d the neck's diameter
// (the elementary formula of every text on rolling). All ≥ 0.
func BearingTorqueNM(forceN, neckMM, friction float64) float64 {
	return friction * forceN * neckMM / 2000
}
