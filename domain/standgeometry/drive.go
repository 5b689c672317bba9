package standgeometry

import (
	"math"
	"strconv"

	"barrelbook/domain/quantity"
	"barrelbook/domain/refusal"
)

// DriveRatio compares two neighbouring stands of a block on one drive.
type DriveRatio struct {
	// From is the index of the first of the two.
	From int
	// Ratio is D of the next stand over D of this one, Design what the drive's
	// gears were laid out for, Deviation Ratio/Design − 1.
	Ratio, Design, Deviation float64
	Within                   bool
}

// SingleDrive checks a block of stands driven by one motor. Their gear ratios
// are fixed, so mass flow holds only while neighbouring diameters keep the
// ratio the block was designed with:
//
//	|(Dᵢ₊₁/Dᵢ)/(Dᵢ₊₁,design/Dᵢ,design) − 1| ≤ tolerance
//
// tolerance in [0, 1), bounds included with 1e-12 for rounding. It gives every
// neighbouring pair, and the index into them of the one that strays most.
func SingleDrive(diameters, design []quantity.Micrometre, tolerance float64) (pairs []DriveRatio, worst int, err error) {
	var c refusal.Check
	if len(diameters) < 2 {
		c.Add("diameters", "", "must hold at least two stands", "")
	}
	if len(design) != len(diameters) {
		c.Add("design_diameters", strconv.Itoa(len(design)), "must be as many as diameters, "+strconv.Itoa(len(diameters)), "")
	}
	for i, d := range diameters {
		diameter(&c, indexed("diameters", i), d)
	}
	for i, d := range design {
		diameter(&c, indexed("design_diameters", i), d)
	}
	if c.Within("tolerance", tolerance, 0, 1) && tolerance == 1 {
		c.Add("tolerance", "1", "must be below 1", "give a fraction: 0.01 for 1 %")
	}
	if err := c.Err(); err != nil {
		return nil, 0, err
	}
	for i := range diameters[1:] {
		p := DriveRatio{From: i, Ratio: float64(diameters[i+1]) / float64(diameters[i]), Design: float64(design[i+1]) / float64(design[i])}
		p.Deviation = p.Ratio/p.Design - 1
		p.Within = math.Abs(p.Deviation) <= tolerance+1e-12
		if pairs = append(pairs, p); math.Abs(p.Deviation) > math.Abs(pairs[worst].Deviation) {
			worst = i
		}
	}
	return pairs, worst, nil
}

func indexed(path string, i int) string { return path + "/" + strconv.Itoa(i) }

// diameter refuses what cannot be a roll's diameter of record.
func diameter(c *refusal.Check, path string, d quantity.Micrometre) {
	if d <= 0 || d > quantity.MaxLength {
		c.Add(path, d.String(), "must be above 0 and at most "+quantity.MaxLength.String(), "")
	}
}
