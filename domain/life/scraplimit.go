package life

import (
	"fmt"

	"barrelbook/domain/quantity"
	"barrelbook/domain/refusal"
)

// LimitName says what a limit on the diameter protects.
type LimitName string

// The limits of a roll's diameter. A mill enters those that it has.
const (
	ShellDepth    LimitName = "shell depth"    // usable thickness of the shell of a compound roll
	HardenedDepth LimitName = "hardened depth" // depth to which the hardness holds
	StackHeight   LimitName = "stack height"   // what screws and wedges of the stand can still close
	NeckFillet    LimitName = "neck fillet"    // barrel must stand above the fillet of the neck
	DriveAngle    LimitName = "drive angle"    // greatest angle of the spindles
	SpeedRange    LimitName = "speed range"    // motor speed for the stand's strip speed
	NominalScrap  LimitName = "nominal scrap"  // the scrap diameter of the type
)

// Limit is a diameter that the roll must not fall below, and why.
type Limit struct {
	Name     LimitName
	Diameter quantity.Micrometre
}

// ScrapLimit is the tightest of a roll's limits: the greatest of the diameters,
// in whole micrometres, with its name. Of equal ones the first is named. A type
// has one nominal scrap diameter but every roll and stand has its own limits;
// using one for all is a known way to lose stock or a roll.
//
// Each diameter must be above 0; at least one limit must be given.
func ScrapLimit(limits []Limit) (Limit, error) {
	var c refusal.Check
	if len(limits) == 0 {
		c.Add("limits", "", "must hold at least one limit", "enter at least the nominal scrap diameter")
	}
	tightest := Limit{}
	for i, l := range limits {
		if l.Diameter <= 0 || l.Diameter > quantity.MaxLength {
			c.Add(fmt.Sprintf("limits/%d/diameter_um", i), l.Diameter.String(),
				"must be greater than 0 and at most "+quantity.MaxLength.String(), "")
		}
		if l.Diameter > tightest.Diameter {
			tightest = l
		}
	}
	if err := c.Err(); err != nil {
		return Limit{}, err
	}
	return tightest, nil
}
