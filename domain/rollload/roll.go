// Package rollload finds how the load between the rolls of a stand lies along
// the barrels: the top half of a four-high stand as two beams, or of a six-high
// stand as three, with the flattening of Hertz's contact between them.
//
// Axis x runs along the barrels from the mill's centre line, y is up. The
// rolls are Timoshenko beams,
//
//	V' = f,   M' = V,   ψ' = M/EI,   y' = ψ − V/(κGA)
//
// the strip presses the work roll up, bending forces at its bearing centres
// press it up too where they are positive, and the backup roll is held at its
// bearing centres. What a slice of the barrel carries follows from how near the
// axes come there, q = q(α) of package contact, and is never negative: the
// rolls may part.
//
// The method is that of influence coefficients (Shohet and Townsend, Journal
// of the Iron and Steel Institute, 1968; Stone and Gray, Iron and Steel
// Engineer, 1965), in compliance form and solved by Newton's method. Lengths
// are mm, forces N, stresses MPa, profiles µm on diameter.
package rollload

import (
	"math"

	"barrelbook/domain/contact"
	"barrelbook/domain/refusal"
)

// DefaultShearCoefficient is κ of a full round section, the usual 0.9.
const DefaultShearCoefficient = 0.9

// Roll is one roll as a beam: a barrel and two necks that reach to the bearing
// centres.
type Roll struct {
	contact.Body
	// BarrelLengthMM is L, above 0.
	BarrelLengthMM float64
	// BearingSpanMM is the distance of the bearing centres, above L.
	BearingSpanMM float64
	// NeckDiameterMM is above 0 and at most the barrel's diameter.
	NeckDiameterMM float64
	// ShearCoefficient is κ, above 0 to 1; see [DefaultShearCoefficient].
	ShearCoefficient float64
	// AxialOffsetMM moves the roll with its bearings along x (roll shifting);
	// at most a quarter of the barrel either way.
	AxialOffsetMM float64
}

// Stack is the rolls of the top half of a stand, from the strip up: all that the
// influence coefficients depend on. The bottom half is the same turned over.
type Stack struct {
	Work Roll
	// Intermediate lies between work and backup roll in a six-high stand. Left
	// at zero the stand is four-high.
	Intermediate Roll
	Backup       Roll
	// ApproachConstant is c of the contacts, see contact.Foeppl.
	ApproachConstant float64
}

// SixHigh tells whether the stack has an intermediate roll.
func (p Stack) SixHigh() bool { return p.Intermediate != Roll{} }

// named is a roll of a stack with the word its refusals go by.
type named struct {
	Roll
	name string
}

// rolls are those of the stack from the strip up.
func (p Stack) rolls() []named {
	if p.SixHigh() {
		return []named{{p.Work, "work"}, {p.Intermediate, "intermediate"}, {p.Backup, "backup"}}
	}
	return []named{{p.Work, "work"}, {p.Backup, "backup"}}
}

// check adds the refusals of one roll, its fields named below prefix.
func (r Roll) check(c *refusal.Check, prefix string) {
	r.Body.Check(c, prefix)
	barrel := c.Positive(prefix+"/barrel_length_mm", r.BarrelLengthMM)
	if c.Positive(prefix+"/bearing_span_mm", r.BearingSpanMM) && barrel && r.BearingSpanMM <= r.BarrelLengthMM {
		c.Add(prefix+"/bearing_span_mm", refusal.Number(r.BearingSpanMM),
			"must be greater than the barrel length "+refusal.Number(r.BarrelLengthMM), "")
	}
	if c.Positive(prefix+"/neck_diameter_mm", r.NeckDiameterMM) && r.NeckDiameterMM > r.DiameterMM {
		c.Add(prefix+"/neck_diameter_mm", refusal.Number(r.NeckDiameterMM),
			"must not exceed the barrel diameter "+refusal.Number(r.DiameterMM), "")
	}
	if c.Positive(prefix+"/shear_coefficient", r.ShearCoefficient) && r.ShearCoefficient > 1 {
		c.Add(prefix+"/shear_coefficient", refusal.Number(r.ShearCoefficient), "must not exceed 1", "")
	}
	if barrel {
		c.Within(prefix+"/axial_offset_mm", r.AxialOffsetMM, -r.BarrelLengthMM/4, r.BarrelLengthMM/4)
	}
}

// check refuses rolls that are none and rolls that do not meet in the middle of
// the mill.
func (p Stack) check() error {
	var c refusal.Check
	rolls := p.rolls()
	for _, r := range rolls {
		r.check(&c, r.name)
	}
	if err := c.Err(); err != nil {
		return err
	}
	for k := range len(rolls) - 1 {
		if left, right := overlap(rolls[k].Roll, rolls[k+1].Roll); left >= 0 || right <= 0 {
			c.Add(rolls[k].name+"/axial_offset_mm", refusal.Number(rolls[k].AxialOffsetMM),
				"leaves no common barrel with the "+rolls[k+1].name+" roll at the mill's centre line", "")
		}
	}
	return c.Err()
}

// overlap is the common barrel of two rolls, from its left to its right end.
func overlap(a, b Roll) (left, right float64) {
	return math.Max(a.AxialOffsetMM-a.BarrelLengthMM/2, b.AxialOffsetMM-b.BarrelLengthMM/2),
		math.Min(a.AxialOffsetMM+a.BarrelLengthMM/2, b.AxialOffsetMM+b.BarrelLengthMM/2)
}

// centred tells whether all rolls stand in the middle of the mill.
func (p Stack) centred() bool {
	return p.Work.AxialOffsetMM == 0 && p.Intermediate.AxialOffsetMM == 0 && p.Backup.AxialOffsetMM == 0
}
