package roll

import (
	"fmt"

	"barrelbook/domain/refusal"
)

// checkFigures refuses figures that no roll can have, whatever the book says: they
// come from outside, and one NaN in a book would be in every answer about the
// roll. Fields have the names of the contract.
func checkFigures(e Entry) error {
	var c refusal.Check
	switch b := e.Body.(type) {
	case Received:
		c.Positive("diameter_mm", b.Diameter.MM())
		c.Finite("crown_um", b.CrownUM)
		c.NotNegative("hardness_shore_c", b.Hardness)
		soundMeasures(&c, b.Measures)
		soundTests(&c, b.Tests)
	case Inspected:
		soundTests(&c, b.Tests)
	case PastStay:
		c.NotNegative("tonnage_t", b.TonnageT)
		c.NotNegative("rolled_km", b.RolledKM)
		c.NotNegative("specific_force_kn_per_mm", b.SpecificForceKNPerMM)
	case Reground:
		c.Positive("found_mm", b.Found.MM())
		c.Positive("ground_mm", b.Ground.MM())
		c.Finite("temperature_above_shop_k", b.AboveShopK)
		c.NotNegative("fire_crack_um", b.FireCrackUM)
		soundMeasures(&c, b.Measures)
		soundStations(&c, "found_stations", b.FoundStations)
		soundTests(&c, b.Tests)
	}
	return c.Err()
}

func soundMeasures(c *refusal.Check, m Measures) {
	soundFigure(c.Finite, "crown_um", m.CrownUM)
	soundFigure(c.Finite, "taper_um", m.TaperUM)
	soundFigure(c.NotNegative, "runout_um", m.RunoutUM)
	soundFigure(c.NotNegative, "roundness_um", m.RoundnessUM)
	soundFigure(c.NotNegative, "roughness_um", m.RoughnessUM)
	soundStations(c, "stations", m.Stations)
}

func soundStations(c *refusal.Check, name string, stations []Station) {
	for i, s := range stations {
		c.NotNegative(fmt.Sprintf("%s/%d/at_mm", name, i), s.AtMM)
		c.Positive(fmt.Sprintf("%s/%d/diameter_mm", name, i), s.Diameter.MM())
	}
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
		for j, r := range t.Readings {
			path := fmt.Sprintf("tests/%d/readings/%d/", i, j)
			c.NotNegative(path+"at_mm", r.AtMM)
			soundFigure(c.Finite, path+"around_deg", r.AroundDeg)
			c.Finite(path+"value", r.Value)
			c.NotNegative(path+"threshold", r.Threshold)
			c.NotNegative(path+"depth_um", r.DepthUM)
		}
	}
}
