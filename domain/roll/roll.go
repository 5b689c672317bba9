// Package roll keeps the life record of a roll: what it is, the entries of
// its book, the state that replaying the book gives, and the rules of what may
// follow what. All lengths are integer micrometres on diameter.
package roll

import (
	"barrelbook/domain/mill"
	"barrelbook/domain/quantity"
)

// Roll is what does not change over a roll's life, from its receipt.
type Roll struct {
	Number       string
	Role         mill.Role
	Grade        string
	Supplier     string
	Certificate  string
	NewDiameter  quantity.Micrometre
	BarrelLength quantity.Micrometre
	BearingSpan  quantity.Micrometre // 0 when not known
	NeckDiameter quantity.Micrometre // 0 when not known
	NeckRadius   quantity.Micrometre // of the fillet between barrel and neck; 0 when not known
	Scrap        ScrapLimits
	Price        int64    // minor units of money, 0 when not known
	Grooves      []Groove // empty on a plain barrel
}

// ScrapLimits are the diameters at which something ends the roll. Zero
// stands for "not a limit of this roll".
type ScrapLimits struct {
	Nominal       quantity.Micrometre
	ShellDepth    quantity.Micrometre
	HardenedDepth quantity.Micrometre
	StackHeight   quantity.Micrometre
	NeckFillet    quantity.Micrometre
	DriveAngle    quantity.Micrometre
	SpeedRange    quantity.Micrometre
}

// Tightest is the limit a roll meets first on its way down, and its name. A
// single scrap diameter for a type of roll is one of the mistakes of a
// spreadsheet: it is the greatest of these that rules.
func (s ScrapLimits) Tightest() (quantity.Micrometre, string) {
	limit, name := s.Nominal, "nominal scrap diameter"
	for _, other := range []struct {
		at   quantity.Micrometre
		name string
	}{
		{s.ShellDepth, "shell depth"},
		{s.HardenedDepth, "hardened depth"},
		{s.StackHeight, "stack height"},
		{s.NeckFillet, "neck fillet"},
		{s.DriveAngle, "drive angle"},
		{s.SpeedRange, "speed range"},
	} {
		if other.at > limit {
			limit, name = other.at, other.name
		}
	}
	return limit, name
}
