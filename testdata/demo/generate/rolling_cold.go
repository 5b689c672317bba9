package main

import (
	"fmt"
	"math"
	"math/rand/v2"
	"time"
)

const coldMill = "cold"

var coldStands = []string{"T1", "T2", "T3", "T4", "T5"}

// coldTandem is a five-stand four-high mill for strip; the last stand's rolls
// are textured.
func coldTandem() *line {
	return &line{folder: "cold-tandem", mill: coldMill, minutes: 9, pieces: 83, perWeek: 11, weeks: 14, live: 2, grinders: 1, gaugeUM: 1.5, left: "TW", ahead: 200,
		stops:   []object{{"before_piece": 61, "name": "emulsion filter", "minutes": 20}, {"before_piece": 131, "name": "shift handover", "minutes": 15}},
		classes: coldClasses, setUp: setUpCold, programme: coldProgramme, mishaps: map[int]func(*shop, time.Time){
			12: func(s *shop, rolling time.Time) {
				s.mark("T4", "strip_weld", rolling.Add(2*time.Hour), "weld broke and the end stuck to the roll")
			},
		}}
}

func coldClasses(spares int) []*class {
	return []*class{
		{prefix: "TW", role: "work", stands: coldStands[:4], grade: "forged-5cr", newMM: 585, scrapMM: 525, shellMM: 526, barrelMM: 1700, spanMM: 2500, neckMM: 330, massKG: 4700,
			hardness: 95, price: 1_300_000, sets: 12 * spares, life: [2]float64{0.02, 0.5}, onOrder: 4, every: 2, coolH: 4, grindMin: 45, crownUM: 40, stock: 0.1, rate: 0.12, spread: 0.12, mishap: 0.06, ra: 0.7, raSpread: 0.05},
		{prefix: "TX", role: "work", stands: coldStands[4:], grade: "forged-5cr-textured", newMM: 585, scrapMM: 525, shellMM: 526, barrelMM: 1700, spanMM: 2500, neckMM: 330, massKG: 4700,
			hardness: 96, price: 1_500_000, sets: 5 * spares, life: [2]float64{0.02, 0.5}, onOrder: 2, every: 1, coolH: 4, grindMin: 90, crownUM: 20, stock: 0.08, rate: 0.08, spread: 0.12, mishap: 0.05, ra: 3.2, raSpread: 0.12, purpose: "retexture"},
		{prefix: "TB", role: "backup", stands: coldStands, grade: "forged-5cr-b", newMM: 1420, scrapMM: 1300, barrelMM: 1650, spanMM: 2600, neckMM: 800, massKG: 30000,
			hardness: 68, price: 15_000_000, sets: 11 * spares, life: [2]float64{0.03, 0.3}, every: 35, coolH: 24, grindMin: 420, stock: 1.2, rate: 0.004, spread: 0.1, ra: 0.9, raSpread: 0.08},
	}
}

func setUpCold(s *shop, at time.Time) {
	s.post(at, "/v1/mills", object{"name": coldMill, "kind": "cold_tandem", "title": "Cold tandem mill of an invented works", "density_kg_per_m3": density})
	s.postAll(at, "/v1/grades", []object{
		{"name": "forged-5cr", "family": "forged_chromium_steel", "title": "Forged 5 % chromium, cold work", "elastic_modulus_mpa": 208000, "poisson_ratio": 0.3, "allowable_stress_mpa": 220},
		{"name": "forged-5cr-textured", "family": "forged_chromium_steel", "title": "Forged 5 % chromium, textured", "elastic_modulus_mpa": 208000, "poisson_ratio": 0.3, "allowable_stress_mpa": 220},
		{"name": "forged-5cr-b", "family": "forged_chromium_steel", "title": "Forged 5 % chromium backup", "elastic_modulus_mpa": 206000, "poisson_ratio": 0.3, "allowable_stress_mpa": 140},
	})
	for i, name := range coldStands {
		s.post(at, "/v1/stands", object{"name": name, "mill": coldMill, "order": i + 1, "arrangement": "four_high", "max_force_kn": 20000,
			"min_rpm": []float64{60, 80, 110, 150, 180}[i], "max_rpm": []float64{420, 560, 720, 900, 1050}[i], "reference_work_diameter_mm": 585, "reference_backup_diameter_mm": 1420,
			"max_shim_mm": 130, "min_stack_mm": 3640, "max_stack_mm": 4020, "bending_force_kn": 400})
	}
	s.postAll(at, "/v1/practices", []object{
		practiceOf(coldMill, "works", "", "", "", object{"gauge_uncertainty_um": 4, "stop_cost": 380000, "planned_stop_cost": 30000, "change_cost": 45000, "delivery_days": 270}),
		practiceOf(coldMill, "ground-work", "", "work", "forged-5cr", object{"least_stock_mm": 0.1, "neck_fillet_radius_mm": 45, "normal_stock_mm": 0.13, "pair_tolerance_um": 50, "max_wear_um": 120, "max_campaign_km": 380, "wear_rate_um_per_km": 0.12, "wear_rate_cv": 0.15, "edge_wear_factor": 1.1,
			"crown_um": 40, "crown_tolerance_um": 8, "taper_tolerance_um": 16, "roughness_min_um": 0.4, "roughness_max_um": 1, "roughness_floor_um": 0.2, "roughness_scale_km": 520, "roughness_limit_um": 0.4, "hardness_min_shore_c": 90, "grind_min": 45, "cooling_h": 4, "margin_stock_um": 25, "roll_price": 1300000}),
		practiceOf(coldMill, "textured-work", "", "work", "forged-5cr-textured", object{"least_stock_mm": 0.075, "neck_fillet_radius_mm": 45, "normal_stock_mm": 0.12, "pair_tolerance_um": 50, "max_wear_um": 120, "max_campaign_km": 230, "wear_rate_um_per_km": 0.08, "wear_rate_cv": 0.15, "edge_wear_factor": 1.1,
			"crown_um": 20, "crown_tolerance_um": 8, "taper_tolerance_um": 16, "roughness_min_um": 2, "roughness_max_um": 5, "roughness_floor_um": 0.8, "roughness_scale_km": 320, "roughness_limit_um": 1.9, "hardness_min_shore_c": 90, "grind_min": 90, "cooling_h": 4, "margin_stock_um": 25, "roll_price": 1500000}),
		practiceOf(coldMill, "cold-backup", "", "backup", "", object{"neck_fillet_radius_mm": 110, "normal_stock_mm": 1.4, "pair_tolerance_um": 20000, "max_wear_um": 300, "max_campaign_km": 9000, "wear_rate_um_per_km": 0.004, "max_peak_pressure_mpa": 2200, "grind_min": 420, "cooling_h": 24, "roll_price": 15000000}),
	})
}

var coldBlocks = []struct {
	name  string
	share float64
	width float64
	final float64
	hard  float64
}{
	{"panel", 0.45, 1480, 0.8, 1},
	{"drawing", 0.3, 1300, 1.0, 0.95},
	{"high-strength", 0.25, 1180, 1.2, 1.25},
}

func coldProgramme(rng *rand.Rand, name string, n int) []piece {
	var pieces []piece
	for _, b := range coldBlocks {
		for range int(math.Round(b.share * float64(n))) {
			width := math.Round(b.width + 15*rng.NormFloat64())
			final := round(b.final*math.Exp(0.06*rng.NormFloat64()), 2)
			p := piece{ID: fmt.Sprintf("%s-%03d", name, len(pieces)+1), Material: b.name, Block: b.name,
				MassT: round(width*0.0155, 3), WidthMM: width, EntryMM: round(final*3.2, 2)}
			p.Passes = coldPasses(rng, width, final, b.hard)
			pieces = append(pieces, p)
		}
	}
	return pieces
}

// coldPasses go through the five stands in one pass, the last with a light
// draft on textured rolls.
func coldPasses(rng *rand.Rand, width, final, hard float64) []pass {
	left := []float64{0.7, 0.43, 0.21, 0.06, 0}
	passes := make([]pass, len(coldStands))
	for i, name := range coldStands {
		h := final * math.Pow(3.2, left[i])
		specific := []float64{7.8, 8.4, 8.6, 8.2, 5.6}[i] * hard * math.Exp(0.03*rng.NormFloat64())
		passes[i] = pass{Stand: name, ExitMM: round(h, 3), ForceKN: math.Round(math.Min(specific*width, 19000)), SpeedMPS: round(16*final/h, 2), TempC: 60 + 12*float64(i)}
	}
	return passes
}
