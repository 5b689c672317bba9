// Package mill describes where rolls work: mills, stands, the positions in a
// stand, what a stand can bear, and the pieces that are rolled.
package mill

import (
	"barrelbook/domain/quantity"
)

// Kind is the sort of mill, which decides what a piece of it must tell.
type Kind string

// The mills of a works.
const (
	Cogging    Kind = "cogging"
	Billet     Kind = "billet"
	Bar        Kind = "bar"
	Plate      Kind = "plate"
	HotStrip   Kind = "hot_strip"
	ColdTandem Kind = "cold_tandem"
	Temper     Kind = "temper"
)

// Cold says whether the metal is rolled cold.
func (k Kind) Cold() bool { return k == ColdTandem || k == Temper }

// DefaultDensityKGPerM3 is that of rolled carbon steel, common practice.
const DefaultDensityKGPerM3 = 7850

// Mill is a line of stands with one roll shop behind it.
type Mill struct {
	Name           string
	Kind           Kind
	Title          string
	DensityKGPerM3 float64 // of the rolled metal; Defaults to DefaultDensityKGPerM3
}

// Density is the mill's density of rolled metal, or the default.
func (m Mill) Density() float64 {
	if m.DensityKGPerM3 > 0 {
		return m.DensityKGPerM3
	}
	return DefaultDensityKGPerM3
}

// Arrangement is how many rolls stand over one another.
type Arrangement string

// The arrangements a stand may have.
const (
	TwoHigh  Arrangement = "two_high"
	FourHigh Arrangement = "four_high"
	SixHigh  Arrangement = "six_high"
)

// Role is what a roll does in a stand.
type Role string

// The roles.
const (
	Work         Role = "work"
	Backup       Role = "backup"
	Intermediate Role = "intermediate"
)

// Position is one place for one roll in a stand. In a vertical stand top is
// the operator's side.
type Position string

// The positions.
const (
	TopWork            Position = "top_work"
	BottomWork         Position = "bottom_work"
	TopBackup          Position = "top_backup"
	BottomBackup       Position = "bottom_backup"
	TopIntermediate    Position = "top_intermediate"
	BottomIntermediate Position = "bottom_intermediate"
)

// Role is the role of a roll at the position.
func (p Position) Role() Role {
	switch p {
	case TopBackup, BottomBackup:
		return Backup
	case TopIntermediate, BottomIntermediate:
		return Intermediate
	default:
		return Work
	}
}

// Bottom tells whether the position is in the bottom half of the stand.
func (p Position) Bottom() bool {
	return p == BottomWork || p == BottomIntermediate || p == BottomBackup
}

// Positions lists the places of an arrangement from top to bottom.
func (a Arrangement) Positions() []Position {
	switch a {
	case TwoHigh:
		return []Position{TopWork, BottomWork}
	case SixHigh:
		return []Position{TopBackup, TopIntermediate, TopWork, BottomWork, BottomIntermediate, BottomBackup}
	default:
		return []Position{TopBackup, TopWork, BottomWork, BottomBackup}
	}
}

// PairPositions are the top and bottom place of a role.
func PairPositions(r Role) (top, bottom Position) {
	switch r {
	case Backup:
		return TopBackup, BottomBackup
	case Intermediate:
		return TopIntermediate, BottomIntermediate
	default:
		return TopWork, BottomWork
	}
}

// Takes says whether the arrangement has places for the role.
func (a Arrangement) Takes(r Role) bool {
	for _, p := range a.Positions() {
		if p.Role() == r {
			return true
		}
	}
	return false
}

// Stand is one housing with its rolls and what it can bear. Zero stands for
// "no limit entered" in every limit.
type Stand struct {
	Name        string
	Mill        string
	Order       int // place in pass order, from 1
	Arrangement Arrangement
	Vertical    bool // roll axes upright
	Reversing   bool

	MaxForceKN      float64
	MaxTorqueKNM    float64 // of the drive, both rolls together
	MinRPM, MaxRPM  float64 // of the driven rolls
	MinStack        quantity.Micrometre
	MaxStack        quantity.Micrometre // sum of all roll diameters
	MaxShim         quantity.Micrometre
	ReferenceWork   quantity.Micrometre // diameters at which no pass-line shim is needed
	ReferenceBackup quantity.Micrometre
	BendingForceKN  float64 // usual, per chock
	DriveBlock      string  // stands on one drive share it; their gears are laid out for ReferenceWork

	Version int64
}
