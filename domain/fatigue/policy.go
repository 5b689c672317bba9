// Package fatigue keeps the contact-fatigue damage of a roll along its barrel
// and in depth below its surface, through every campaign and every regrind.
//
// Each revolution under load damages the layers below the surface by how hard
// their depth is sheared; each grind takes off the top and brings the rest
// nearer. So the worst layer of a roll that is ground by a stock s (on radius)
// after each like campaign of half-width b bears about (b/s)·I campaigns:
// half the stock is twice the damage.
//
// The coefficients are a mill's own policy, not properties of a steel. A
// damage under the limit means within the limits entered, no more.
package fatigue

import (
	"math"

	"barrelbook/domain/refusal"
)

// Shear says which shear stress is taken to do the damage.
type Shear int

const (
	// PrincipalShear is the greatest shear in the plane across the roll,
	// (σz-σx)/2 on the axis below the contact: 0.300283 p₀ at 0.78615 b.
	PrincipalShear Shear = iota
	// OrthogonalShear is the greatest |τxz| passed through at each depth:
	// 0.25 p₀ at 0.5 b, as the rating of rolling bearings has it.
	OrthogonalShear
)

// Policy is how a mill counts contact fatigue. DefaultPolicy gives every
// default; a zero Policy is refused.
type Policy struct {
	// Exponent is m, of damage on pressure and on shear; 3 to 20. Defaults to
	// 20/3: twice the 10/3 of line contact in ISO 281, as p₀ goes with the
	// root of load. Up to 9 is in use.
	Exponent float64
	// ReferencePressureMPa is p_ref, a peak pressure with a known life; 100 to
	// 10 000. Defaults to 1500.
	ReferencePressureMPa float64
	// ReferenceRevolutions is N_ref, the revolutions at p_ref the mill accepts
	// before damage 1; 1 to 1e15. Defaults to 1e7. With p_ref of 1500 MPa that
	// lets a usual backup roll practice pass with room and an extreme one not;
	// common practice, no source: every mill must set its own.
	ReferenceRevolutions float64
	// Shear is the stress held responsible. Defaults to PrincipalShear.
	Shear Shear
	// DamageLimit is the damage a layer may bear. Defaults to 1.
	DamageLimit float64
	// HardnessToleranceShoreC is how far a backup roll's hardness may be from
	// new; 2 to 3 is usual. Defaults to 3.
	HardnessToleranceShoreC float64
}

// DefaultPolicy is the policy of a mill that has not made its own.
func DefaultPolicy() Policy {
	return Policy{
		Exponent:                20.0 / 3,
		ReferencePressureMPa:    1500,
		ReferenceRevolutions:    1e7,
		Shear:                   PrincipalShear,
		DamageLimit:             1,
		HardnessToleranceShoreC: 3,
	}
}

func (p Policy) check(c *refusal.Check) {
	c.Within("fatigue_exponent", p.Exponent, 3, 20)
	c.Within("reference_pressure_mpa", p.ReferencePressureMPa, 100, 10_000)
	c.Within("reference_revolutions", p.ReferenceRevolutions, 1, 1e15)
	if p.Shear != PrincipalShear && p.Shear != OrthogonalShear {
		c.Add("shear", "", "must be principal or orthogonal", "")
	}
	c.Positive("damage_limit", p.DamageLimit)
	c.Within("hardness_tolerance_shore_c", p.HardnessToleranceShoreC, 0, 50)
}

// The bounds of one call, far beyond any mill; they keep slipped units from
// becoming infinities.
const (
	greatestPressureMPa = 1e5
	mostRevolutions     = 1e15
)

// Damage is the share of a layer's life that revolutions at one peak pressure
// use up at the depth of the greatest shear (Miner 1945, with a power law for
// the life, as in ISO 281):
//
//	Δ = n/N,   N = N_ref·(p_ref/p₀)ᵐ
//
// Shares add. 0 to 1e15 revolutions, 0 to 1e5 MPa.
func (p Policy) Damage(revolutions, p0MPa float64) (float64, error) {
	var c refusal.Check
	p.check(&c)
	c.Within("revolutions", revolutions, 0, mostRevolutions)
	c.Within("peak_pressure_mpa", p0MPa, 0, greatestPressureMPa)
	if err := c.Err(); err != nil {
		return 0, err
	}
	return revolutions * p.perRevolution(p0MPa), nil
}

func (p Policy) perRevolution(p0MPa float64) float64 {
	return math.Pow(p0MPa/p.ReferencePressureMPa, p.Exponent) / p.ReferenceRevolutions
}
