package standgeometry

import (
	"math"

	"barrelbook/domain/refusal"
)

// RolledLengthM is the length of a piece behind a stand, by conservation of
// mass,
//
//	l = m/(ρ·B·h)
//
// in m, from tonnes, kg/m³ and mm. ρ in [100, 30000]; the others above 0, the
// mass up to 1e9 t. Scale lost in the furnace and crops are the caller's.
func RolledLengthM(massT, densityKgPerM3, widthMM, thicknessMM float64) (float64, error) {
	var c refusal.Check
	if c.Positive("mass_t", massT) {
		c.Within("mass_t", massT, 0, 1e9)
	}
	c.Within("density_kg_per_m3", densityKgPerM3, 100, 30000)
	c.Within("width_mm", widthMM, 1e-3, 1e6)
	c.Within("thickness_mm", thicknessMM, 1e-4, 1e6)
	if err := c.Err(); err != nil {
		return 0, err
	}
	return massT * 1000 / (densityKgPerM3 * widthMM / 1000 * thicknessMM / 1000), nil
}

// Revolutions is how often a roll turns while lengthM of strip passes,
//
//	n = l/(πD)
//
// with l ≥ 0 in m and D in [1, 10000] mm. For a work roll the forward slip, a
// few per cent more strip than surface, is left out; a backup roll, driven by
// the work roll's surface, turns by the same length over its own diameter.
func Revolutions(lengthM, diameterMM float64) (float64, error) {
	var c refusal.Check
	c.NotNegative("length_m", lengthM)
	c.Within("diameter_mm", diameterMM, 1, 10000)
	if err := c.Err(); err != nil {
		return 0, err
	}
	n := lengthM / (math.Pi * diameterMM / 1000)
	if math.IsInf(n, 1) {
		return 0, refusal.One("length_m", refusal.Number(lengthM), "is beyond any number of turns", "")
	}
	return n, nil
}
