package roll

import (
	"fmt"

	"barrelbook/domain/refusal"
)

// sound refuses figures that no roll can have, whatever the book says: they
// come from outside, and one NaN in a book would be in every answer about the
// roll. Fields have the names of the contract.
func sound(e Entry) error {
	var c refusal.Check
	switch b := e.Body.(type) {
	case Received:
		c.Positive("diameter_mm", b.Diameter.MM())
		c.Finite("crown_um", b.CrownUM)
		c.NotNegative("hardness_shore_c", b.Hardness)
	case Inspected:
		soundTests(&c, b.Tests)
	case Reground:
		c.Positive("found_mm", b.Found.MM())
		c.Positive("ground_mm", b.Ground.MM())
		c.Finite("temperature_above_shop_k", b.AboveShopK)
		soundFigure(c.Finite, "crown_um", b.CrownUM)
		soundFigure(c.Finite, "taper_um", b.TaperUM)
		soundFigure(c.NotNegative, "runout_um", b.RunoutUM)
		soundFigure(c.NotNegative, "roughness_um", b.RoughnessUM)
		soundTests(&c, b.Tests)
	}
	return c.Err()
}

func soundFigure(check func(path string, v float64) bool, path string, v *float64) {
	if v != nil {
		check(path, *v)
	}
}

func soundTests(c *refusal.Check, tests []Test) {
	for i, t := range tests {
		c.NotNegative(fmt.Sprintf("tests/%d/crack_depth_um", i), t.CrackDepthUM)
		c.NotNegative(fmt.Sprintf("tests/%d/hardness_shore_c", i), t.Hardness)
	}
}
