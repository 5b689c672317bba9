package rollforce

import (
	"math"

	"barrelbook/domain/refusal"
)

// Body is the geometry of a roll as far as its strength goes. On a grooved
// roll BarrelDiameterMM is that at the bottom of the deepest groove.
type Body struct {
	BarrelDiameterMM, BarrelLengthMM float64
	NeckDiameterMM, BearingSpanMM    float64
	// FilletBendingFactor and FilletTorsionFactor are the stress concentration
	// of the neck's fillet, at least 1; see [Fillet].
	FilletBendingFactor, FilletTorsionFactor float64
	// DriveEnd is what the spindle grips; not looked at where it is not known.
	DriveEnd DriveEnd
}

// Allowable is what the roll's grade is allowed to bear, by the mill's policy:
// it already holds the factor of ignorance.
type Allowable struct {
	BarrelMPa, NeckMPa float64
	// Brittle is for cast iron: the greatest principal stress counts. Else the
	// von Mises stress does.
	Brittle bool
}

// Load is what one roll bears at once.
type Load struct {
	// ForceN is the separating force, spread evenly over WidthMM (for a backup
	// roll: the length of its contact with the work roll).
	ForceN, WidthMM float64
	// BendingForceN is the roll bending force per chock, up on the work roll
	// when positive (four-high work rolls only).
	BendingForceN float64
	// TorqueNM goes through one neck and the drive end.
	TorqueNM float64
}

// Strength is the stress in a roll against what its grade is allowed.
type Strength struct {
	BarrelBendingMPa  float64
	NeckBendingMPa    float64
	NeckTorsionMPa    float64
	NeckEquivalentMPa float64
	// DriveEndShearMPa is 0 where the drive end is not known.
	DriveEndShearMPa float64
	// Margin is 1 − stress/allowable at the place that governs: 0 at the
	// allowable, negative beyond it. It is a margin within the limits entered.
	Margin float64
	// Governs is "barrel", "neck" or "drive end".
	Governs string
}

// TwoHighStrength is for a roll held at its bearings only: both rolls of a
// two-high stand, and a backup roll with its contact length as width. At the
// middle of the barrel, and at the neck's fillet where the barrel ends,
//
//	M_barrel = F·(a/4 − B/8),   σ = 32M/(πD³)
//	M_neck   = F/2·(a − L)/2,   σ = K_b·32M/(πd³),  τ = K_t·16T/(πd³)
//	σ_eq = √(σ²+3τ²), or for brittle grades σ/2 + √(σ²/4 + τ²)
//
// and in pure torsion at the drive end, by the same rules.
//
// with a the bearing span, L the barrel length, D and d the diameters, B the
// loaded width. Refuses B > L, a < L, d > D and fillet factors below 1.
// Elementary beam formulas (Roark; Shigley for shafts); exact for the beam, no
// account of the residual stresses a roll is born with.
func TwoHighStrength(roll Body, load Load, allow Allowable) (Strength, error) {
	var c refusal.Check
	checkStrength(&c, roll, load, allow)
	if load.BendingForceN != 0 {
		c.Add("bending_force_n", refusal.Number(load.BendingForceN), "must be 0 on a roll without a backup roll", "")
	}
	if err := c.Err(); err != nil {
		return Strength{}, err
	}
	barrel := load.ForceN * (roll.BearingSpanMM/4 - load.WidthMM/8)
	neck := load.ForceN / 2 * (roll.BearingSpanMM - roll.BarrelLengthMM) / 2
	return assess(roll, load, allow, barrel, neck)
}

// WorkRollStrength is for the work roll of a four-high stand. The backup roll
// is taken to press evenly along the whole barrel, q = (F + 2F_b)/L, so that
// along the half barrel, with x from the middle,
//
//	M(x) = q(L/2−x)²/2 − F(B/2−x)₊²/(2B) − F_b(a/2−x)
//
// The greatest |M| is at the middle, or at x = L/2 − F_b/q where the shear
// force passes zero outside the strip. The neck bears F_b·(a−L)/2 and the
// torque. Refusals and stress formulas as in TwoHighStrength.
//
// The even line load is a first estimate: the load solver's own moment is
// better where there is one.
func WorkRollStrength(roll Body, load Load, allow Allowable) (Strength, error) {
	var c refusal.Check
	checkStrength(&c, roll, load, allow)
	c.Finite("bending_force_n", load.BendingForceN)
	if load.ForceN+2*load.BendingForceN < 0 {
		c.Add("bending_force_n", refusal.Number(load.BendingForceN), "lifts the work roll off the backup roll", "")
	}
	if err := c.Err(); err != nil {
		return Strength{}, err
	}
	line := (load.ForceN + 2*load.BendingForceN) / roll.BarrelLengthMM
	moment := func(x float64) float64 {
		strip := math.Max(load.WidthMM/2-x, 0)
		return line*math.Pow(roll.BarrelLengthMM/2-x, 2)/2 -
			load.ForceN*strip*strip/(2*load.WidthMM) - load.BendingForceN*(roll.BearingSpanMM/2-x)
	}
	barrel := math.Abs(moment(0))
	if line > 0 {
		if x := roll.BarrelLengthMM/2 - load.BendingForceN/line; x > load.WidthMM/2 && x < roll.BarrelLengthMM/2 {
			barrel = math.Max(barrel, math.Abs(moment(x)))
		}
	}
	neck := math.Abs(load.BendingForceN) * (roll.BearingSpanMM - roll.BarrelLengthMM) / 2
	// At the barrel's edge its whole section bears the neck's moment.
	return assess(roll, load, allow, math.Max(barrel, neck), neck)
}

// assess turns the two moments, N·mm, into stresses and a margin.
func assess(roll Body, load Load, allow Allowable, barrel, neck float64) (Strength, error) {
	s := Strength{
		BarrelBendingMPa: 32 * barrel / (math.Pi * math.Pow(roll.BarrelDiameterMM, 3)),
		NeckBendingMPa:   roll.FilletBendingFactor * 32 * neck / (math.Pi * math.Pow(roll.NeckDiameterMM, 3)),
		NeckTorsionMPa:   roll.FilletTorsionFactor * 16 * 1000 * load.TorqueNM / (math.Pi * math.Pow(roll.NeckDiameterMM, 3)),
	}
	if allow.Brittle {
		s.NeckEquivalentMPa = s.NeckBendingMPa/2 + math.Hypot(s.NeckBendingMPa/2, s.NeckTorsionMPa)
	} else {
		s.NeckEquivalentMPa = math.Hypot(s.NeckBendingMPa, math.Sqrt(3)*s.NeckTorsionMPa)
	}
	atBarrel, atNeck := s.BarrelBendingMPa/allow.BarrelMPa, s.NeckEquivalentMPa/allow.NeckMPa
	s.Governs, s.Margin = "barrel", 1-atBarrel
	if atNeck > atBarrel {
		s.Governs, s.Margin = "neck", 1-atNeck
	}
	var known bool
	if s.DriveEndShearMPa, known = roll.DriveEnd.ShearMPa(load.TorqueNM); known {
		shear := s.DriveEndShearMPa
		if !allow.Brittle {
			shear *= math.Sqrt(3)
		}
		if atEnd := shear / allow.NeckMPa; 1-atEnd < s.Margin {
			s.Governs, s.Margin = "drive end", 1-atEnd
		}
	}
	for _, v := range []float64{s.BarrelBendingMPa, s.NeckEquivalentMPa, s.DriveEndShearMPa, s.Margin} {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			return Strength{}, refusal.One("force_n", refusal.Number(load.ForceN), "gives a stress beyond any number", "check the roll's dimensions")
		}
	}
	return s, nil
}

func checkStrength(c *refusal.Check, roll Body, load Load, allow Allowable) {
	barrelOK := c.Positive("barrel_length_mm", roll.BarrelLengthMM)
	diameterOK := c.Positive("diameter_mm", roll.BarrelDiameterMM)
	if c.Positive("neck_diameter_mm", roll.NeckDiameterMM) && diameterOK && roll.NeckDiameterMM > roll.BarrelDiameterMM {
		c.Add("neck_diameter_mm", refusal.Number(roll.NeckDiameterMM), "must not be above diameter_mm", "")
	}
	if c.Positive("bearing_span_mm", roll.BearingSpanMM) && barrelOK && roll.BearingSpanMM < roll.BarrelLengthMM {
		c.Add("bearing_span_mm", refusal.Number(roll.BearingSpanMM), "must not be below barrel_length_mm", "")
	}
	if c.Positive("width_mm", load.WidthMM) && barrelOK && load.WidthMM > roll.BarrelLengthMM {
		c.Add("width_mm", refusal.Number(load.WidthMM), "must not be above barrel_length_mm", "")
	}
	for _, k := range []struct {
		path   string
		factor float64
	}{{"fillet_bending_factor", roll.FilletBendingFactor}, {"fillet_torsion_factor", roll.FilletTorsionFactor}} {
		if c.Finite(k.path, k.factor) && k.factor < 1 {
			c.Add(k.path, refusal.Number(k.factor), "must be at least 1", "")
		}
	}
	roll.DriveEnd.check(c)
	c.NotNegative("force_n", load.ForceN)
	c.NotNegative("torque_nm", load.TorqueNM)
	c.Positive("allowable/barrel_mpa", allow.BarrelMPa)
	c.Positive("allowable/neck_mpa", allow.NeckMPa)
}
