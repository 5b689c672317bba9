package heat

import (
	"math"

	"barrelbook/domain/quantity"
	"barrelbook/domain/refusal"
)

// ColdDiameter is what a diameter measured at a mean barrel temperature will
// be at the reference temperature,
//
//	D_ref = D/[1 + α(T_mean − T_ref)]
//
// to the nearest micrometre, halves away from zero. On 700 mm of steel it is
// 8.4 µm per K: a roll 40 K too warm looks a third of a millimetre too thick.
// α in [0, 0.001] per K, temperatures in [-273.15, 3000] °C, D > 0 and up to
// the longest length of record. The gauge is taken to be true at its own
// temperature.
func ColdDiameter(measured quantity.Micrometre, expansionPerK, meanC, referenceC float64) (quantity.Micrometre, error) {
	var c refusal.Check
	if measured <= 0 || measured > quantity.MaxLength {
		c.Add("diameter_mm", measured.String(), "must be above 0 and at most "+quantity.MaxLength.String(), "")
	}
	c.Within("expansion_per_k", expansionPerK, 0, 1e-3)
	c.Within("mean_c", meanC, -273.15, 3000)
	c.Within("reference_c", referenceC, -273.15, 3000)
	scale := 1 + expansionPerK*(meanC-referenceC)
	if err := c.Err(); err != nil {
		return 0, err
	}
	if scale <= 0 {
		return 0, refusal.One("expansion_per_k", refusal.Number(expansionPerK),
			"would shrink the roll to nothing at this temperature", "check the unit: per K, about 12e-6 for steel")
	}
	cold := math.Round(float64(measured) / scale)
	if cold > float64(quantity.MaxLength) {
		return 0, refusal.One("diameter_mm", measured.String(), "would be above "+quantity.MaxLength.String()+" at the reference temperature", "")
	}
	return quantity.Micrometre(cold), nil
}

// GrownUM is how much a free diameter has grown, µm, at so many kelvin above the
// reference: α·D·ΔT.
func GrownUM(diameterMM, expansionPerK, aboveK float64) float64 {
	return 1000 * expansionPerK * diameterMM * aboveK
}
