package standgeometry

import (
	"math"

	"barrelbook/domain/quantity"
	"barrelbook/domain/refusal"
)

// RegrindsLeft is how many whole grinds of the given stock on diameter the
// roll has left above its scrap diameter,
//
//	n = ⌊(D − D_scrap)/stock⌋
//
// counted in whole micrometres: (712.4 − 680.0)/0.45 is 72, where binary
// fractions make it 71. A grind that lands on the scrap diameter itself still
// counts; 0 for a roll at or below it. stock > 0.
func RegrindsLeft(now, scrap, stock quantity.Micrometre) (int64, error) {
	var c refusal.Check
	diameter(&c, "diameter_mm", now)
	diameter(&c, "scrap_diameter_mm", scrap)
	if stock <= 0 {
		c.Add("stock_mm", stock.String(), "must be greater than 0", "")
	}
	if err := c.Err(); err != nil {
		return 0, err
	}
	return int64(max(0, now-scrap) / stock), nil
}

// RemovedMassKG is what a grind takes off a barrel,
//
//	m = ρ·L·π(D₁² − D₂²)/4
//
// from D₁ ≥ D₂ and the barrel length in whole micrometres and ρ in kg/m³, in
// [100, 30000]. The difference of squares is taken as (D₁−D₂)(D₁+D₂), exact in
// the integers.
func RemovedMassKG(before, after, barrelLength quantity.Micrometre, densityKgPerM3 float64) (float64, error) {
	var c refusal.Check
	diameter(&c, "diameter_before_mm", before)
	diameter(&c, "diameter_after_mm", after)
	diameter(&c, "barrel_length_mm", barrelLength)
	if after > before {
		c.Add("diameter_after_mm", after.String(), "must not be above the diameter before, "+before.String(), "")
	}
	c.Within("density_kg_per_m3", densityKgPerM3, 100, 30000)
	if err := c.Err(); err != nil {
		return 0, err
	}
	squares := float64((before-after)*(before+after)) * 1e-12 // m²
	return densityKgPerM3 * barrelLength.MM() / 1000 * math.Pi / 4 * squares, nil
}

// BarrelMassKG is the mass of a whole solid barrel, ρ·L·πD²/4; ranges as in
// RemovedMassKG.
func BarrelMassKG(now, barrelLength quantity.Micrometre, densityKgPerM3 float64) (float64, error) {
	var c refusal.Check
	diameter(&c, "diameter_mm", now)
	diameter(&c, "barrel_length_mm", barrelLength)
	c.Within("density_kg_per_m3", densityKgPerM3, 100, 30000)
	if err := c.Err(); err != nil {
		return 0, err
	}
	return densityKgPerM3 * barrelLength.MM() / 1000 * math.Pi / 4 * float64(now*now) * 1e-12, nil
}

// Consumption is what rolling some tonnes has cost in roll.
type Consumption struct {
	// KGPerT is the mass removed from all rolls counted, per tonne rolled.
	KGPerT float64
	// UMPerKT is the diameter lost by all rolls counted, per 1000 t.
	UMPerKT float64
}

// Consume gives the consumption of a pair (or any number) of rolls that
// together rolled tonnageT: the losses of both rolls are added, the tonnes
// are not. removedKG and lost are per roll; tonnageT > 0, losses ≥ 0.
func Consume(removedKG []float64, lost []quantity.Micrometre, tonnageT float64) (Consumption, error) {
	var c refusal.Check
	if c.Positive("tonnage_t", tonnageT) {
		c.Within("tonnage_t", tonnageT, 1e-3, 1e12)
	}
	var out Consumption
	for i, kg := range removedKG {
		c.Within(indexed("removed_kg", i), kg, 0, 1e9)
		out.KGPerT += kg / tonnageT
	}
	for i, um := range lost {
		if um < 0 || um > quantity.MaxLength {
			c.Add(indexed("lost_mm", i), um.String(), "must not be below 0 nor above "+quantity.MaxLength.String(), "")
		}
		out.UMPerKT += float64(um) * 1000 / tonnageT
	}
	if err := c.Err(); err != nil {
		return Consumption{}, err
	}
	return out, nil
}
