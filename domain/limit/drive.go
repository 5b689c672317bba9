package limit

import (
	"fmt"
	"math"

	"barrelbook/domain/practice"
	"barrelbook/domain/quantity"
	"barrelbook/domain/standgeometry"
)

// driveRatio holds the work rolls against those of the neighbours on one motor.
var driveRatio = Kind{
	Criterion: "drive_ratio", Key: practice.DriveRatioTolerancePct, Unit: "%", Decimals: 2, Words: "deviation from the drive's diameter ratio", Noun: "drive-ratio",
	Fixed: func(a *Ahead) (list []Fixed) {
		d, tolerance := a.Stand.Drive, a.Stand.Limit(practice.DriveRatioTolerancePct)
		rolls := a.Stand.Work.Rolls
		if d == nil || len(rolls) == 0 || a.Stand.ReferenceWork <= 0 {
			return nil
		}
		own := 0.0
		for i := range rolls {
			own += rolls[i].DiameterMM / float64(len(rolls))
		}
		for _, next := range d.Neighbours {
			if next.DiameterMM <= 0 || next.Stand.ReferenceWork <= 0 {
				continue
			}
			pairs, worst, err := standgeometry.SingleDrive([]quantity.Micrometre{um(next.DiameterMM), um(own)},
				[]quantity.Micrometre{next.Stand.ReferenceWork, a.Stand.ReferenceWork}, tolerance.Number/100)
			if err != nil {
				continue // diameters that the books would not hold
			}
			list = append(list, Fixed{Roll: rolls[0].Number, Limit: tolerance.Number, Now: 100 * math.Abs(pairs[worst].Deviation),
				Source: fmt.Sprintf("diameter ratio to %s in drive block %s, against that of the reference diameters; limit: %s", next.Stand.Name, d.Block, tolerance.Source)})
		}
		return list
	},
}
