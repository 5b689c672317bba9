package wear

import (
	"math"

	"barrelbook/domain/refusal"
)

// RolledKM is the length l of a piece of mass m, width B and thickness h, by
// conservation of mass:
//
//	l = m / (ρ·B·h)
//
// Tonnes of 1000 kg, mm, kg/m³, all above 0; kilometres out. Take the exit
// thickness of the stand whose rolls are asked about: one coil is many times
// longer at the last stand than at the first.
func RolledKM(massT, widthMM, thicknessMM, densityKgM3 float64) (float64, error) {
	var c refusal.Check
	c.Positive("mass_t", massT)
	c.Positive("width_mm", widthMM)
	c.Positive("thickness_mm", thicknessMM)
	c.Positive("density_kg_per_m3", densityKgM3)
	if err := c.Err(); err != nil {
		return 0, err
	}
	// t → kg and m → km cancel; mm² → m² leaves 1e6.
	km := massT / densityKgM3 / widthMM / thicknessMM * 1e6
	return finite("mass_t", massT, km)
}

// Revolutions is the number of turns a roll of diameter D makes over a length
// of surface, l/(πD), without slip: for a backup roll the length is that of
// its work roll's surface.
func Revolutions(rolledKM, diameterMM float64) (float64, error) {
	var c refusal.Check
	c.NotNegative("rolled_km", rolledKM)
	c.Positive("diameter_mm", diameterMM)
	if err := c.Err(); err != nil {
		return 0, err
	}
	return finite("rolled_km", rolledKM, rolledKM*1e6/(math.Pi*diameterMM))
}

// Exposure is what a pass adds to the x that a wear rate multiplies,
//
//	x = l·(q̄/10)ᵃ,   predicted wear = κ·x
//
// in km at 10 kN/mm: l km, q̄ kN/mm, a the rate's exponent (0 for
// DefaultExponent). Exposures add.
func Exposure(rolledKM, specificKNPerMM, exponent float64) (float64, error) {
	r := Rate{UmPerKmAt10: 1, Exponent: exponent}
	var c refusal.Check
	c.NotNegative("rolled_km", rolledKM)
	c.NotNegative("specific_force_kn_per_mm", specificKNPerMM)
	checkExponent(&c, r.exponent())
	if err := c.Err(); err != nil {
		return 0, err
	}
	return finite("rolled_km", rolledKM, r.depthUM(specificKNPerMM, rolledKM))
}

// finite lets v out, or refuses the input that drove it beyond any number.
func finite(path string, in, v float64) (float64, error) {
	if math.IsInf(v, 0) || math.IsNaN(v) {
		return 0, refusal.One(path, refusal.Number(in), "gives a result beyond any number", "check the units")
	}
	return v, nil
}
