// Package rollload finds how the load between a work roll and its backup roll
// lies along the barrel: the top half of a four-high stand as two beams with
// the flattening of Hertz's contact between them.
//
// Axis x runs along the barrels from the mill's centre line, y is up. Both
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

// Pair is a work roll and its backup roll: all that the influence coefficients
// depend on.
type Pair struct {
	Work, Backup Roll
	// ApproachConstant is c of the contact, see contact.Foeppl.
	ApproachConstant float64
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

// law checks the pair and prepares its contact.
func (p Pair) law() (contact.Law, error) {
	var c refusal.Check
	p.Work.check(&c, "work")
	p.Backup.check(&c, "backup")
	if err := c.Err(); err != nil {
		return contact.Law{}, err
	}
	if left, right := p.overlap(); left >= 0 || right <= 0 {
		return contact.Law{}, refusal.One("work/axial_offset_mm", refusal.Number(p.Work.AxialOffsetMM),
			"leaves no common barrel at the mill's centre line", "")
	}
	return contact.NewLaw(p.Work.Body, p.Backup.Body, p.ApproachConstant)
}

// overlap is the common barrel, from its left to its right end.
func (p Pair) overlap() (left, right float64) {
	w, b := p.Work, p.Backup
	return math.Max(w.AxialOffsetMM-w.BarrelLengthMM/2, b.AxialOffsetMM-b.BarrelLengthMM/2),
		math.Min(w.AxialOffsetMM+w.BarrelLengthMM/2, b.AxialOffsetMM+b.BarrelLengthMM/2)
}

// centred tells whether both rolls stand in the middle of the mill.
func (p Pair) centred() bool { return p.Work.AxialOffsetMM == 0 && p.Backup.AxialOffsetMM == 0 }
