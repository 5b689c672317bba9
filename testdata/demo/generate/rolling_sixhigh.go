package main

import (
	"fmt"
	"math"
	"math/rand/v2"
	"time"
)

const sixHighMill = "six-high"

// sixHigh is a single six-high reversing stand for cold strip; its intermediate
// rolls are shifted until their barrels end near the strip's edges.
func sixHigh() *line {
	return &line{folder: "six-high", mill: sixHighMill, minutes: 14, pieces: 60, perWeek: 9, weeks: 33, live: 2, grinders: 1, gaugeUM: 1.5, left: "XW", ahead: 130,
		stops:   []object{{"before_piece": 41, "name": "oil filter", "minutes": 20}, {"before_piece": 91, "name": "shift handover", "minutes": 15}},
		classes: sixHighClasses, setUp: setUpSixHigh, programme: sixHighProgramme}
}

const sixHighBarrelMM = 1500

func sixHighClasses(spares int) []*class {
	return []*class{
		{prefix: "XW", role: "work", stands: []string{"X1"}, grade: "forged-5cr", newMM: 430, scrapMM: 385, shellMM: 386, barrelMM: sixHighBarrelMM, spanMM: 2300, neckMM: 260, massKG: 2300,
			hardness: 95, price: 900_000, sets: 5 * spares, life: [2]float64{0.03, 0.6}, onOrder: 2, every: 1, coolH: 3, grindMin: 40, crownUM: 30, stock: 0.09, rate: 0.1, spread: 0.12, mishap: 0.05, ra: 0.6, raSpread: 0.04},
		{prefix: "XI", role: "intermediate", stands: []string{"X1"}, grade: "forged-3cr-i", newMM: 520, scrapMM: 470, shellMM: 471, barrelMM: sixHighBarrelMM, spanMM: 2400, neckMM: 320, massKG: 3300,
			hardness: 80, price: 1_500_000, sets: 3 * spares, life: [2]float64{0.17, 0.45}, onOrder: 2, every: 8, coolH: 6, grindMin: 60, stock: 0.25, rate: 0.01, spread: 0.1, ra: 0.7, raSpread: 0.05},
		{prefix: "XB", role: "backup", stands: []string{"X1"}, grade: "forged-5cr-b", newMM: 1300, scrapMM: 1200, barrelMM: 1450, spanMM: 2500, neckMM: 780, massKG: 21500,
			hardness: 68, price: 12_000_000, sets: 3 * spares, life: [2]float64{0.06, 0.14}, every: 46, coolH: 24, grindMin: 360, stock: 1, rate: 0.004, spread: 0.1, ra: 0.9, raSpread: 0.08},
	}
}

func setUpSixHigh(s *shop, at time.Time) {
	s.post(at, "/v1/mills", object{"name": sixHighMill, "kind": "cold_tandem", "title": "Six-high reversing mill of an invented works", "density_kg_per_m3": density})
	s.postAll(at, "/v1/grades", []object{
		{"name": "forged-5cr", "family": "forged_chromium_steel", "title": "Forged 5 % chromium, cold work", "elastic_modulus_mpa": 208000, "poisson_ratio": 0.3, "allowable_stress_mpa": 220},
		{"name": "forged-3cr-i", "family": "forged_chromium_steel", "title": "Forged 3 % chromium intermediate", "elastic_modulus_mpa": 207000, "poisson_ratio": 0.3, "allowable_stress_mpa": 200},
		{"name": "forged-5cr-b", "family": "forged_chromium_steel", "title": "Forged 5 % chromium backup", "elastic_modulus_mpa": 206000, "poisson_ratio": 0.3, "allowable_stress_mpa": 140},
	})
	s.post(at, "/v1/stands", object{"name": "X1", "mill": sixHighMill, "order": 1, "arrangement": "six_high", "reversing": true, "max_force_kn": 14000, "max_rpm": 900,
		"min_stack_mm": 4110, "max_stack_mm": 4500, "bending_force_kn": 200})
	s.postAll(at, "/v1/practices", []object{
		practiceOf(sixHighMill, "works", "", "", "", object{"gauge_uncertainty_um": 4, "stop_cost": 220000, "planned_stop_cost": 18000, "change_cost": 35000, "delivery_days": 270, "crown_edge_mm": 25}),
		practiceOf(sixHighMill, "six-high-work", "", "work", "", object{"least_stock_mm": 0.09, "neck_fillet_radius_mm": 40, "normal_stock_mm": 0.1, "pair_tolerance_um": 50, "max_wear_um": 100, "max_campaign_km": 420, "wear_rate_um_per_km": 0.1, "wear_rate_cv": 0.15, "edge_wear_factor": 1.05,
			"max_crown_change_um": 60, "max_quarter_um": 15, "max_edge_step_um": 25,
			"crown_um": 30, "crown_tolerance_um": 8, "taper_tolerance_um": 16, "roughness_min_um": 0.35, "roughness_max_um": 0.9, "roughness_floor_um": 0.2, "roughness_scale_km": 500, "roughness_limit_um": 0.3, "hardness_min_shore_c": 90, "grind_min": 40, "cooling_h": 3, "margin_stock_um": 20, "roll_price": 900000}),
		practiceOf(sixHighMill, "six-high-intermediate", "", "intermediate", "", object{"least_stock_mm": 0.25, "neck_fillet_radius_mm": 45, "normal_stock_mm": 0.25, "pair_tolerance_um": 100, "max_wear_um": 150, "max_campaign_km": 3000, "wear_rate_um_per_km": 0.01, "max_peak_pressure_mpa": 2200,
			"crown_um": 0, "crown_tolerance_um": 10, "hardness_min_shore_c": 75, "grind_min": 60, "cooling_h": 6, "margin_stock_um": 40, "roll_price": 1500000}),
		practiceOf(sixHighMill, "six-high-backup", "", "backup", "", object{"least_stock_mm": 1, "neck_fillet_radius_mm": 100, "normal_stock_mm": 1.2, "pair_tolerance_um": 20000, "max_wear_um": 300, "max_campaign_km": 12000, "wear_rate_um_per_km": 0.004, "max_peak_pressure_mpa": 2000, "grind_min": 360, "cooling_h": 24, "roll_price": 12000000}),
	})
}

// sixHighProgramme rolls wide strip before narrow, each piece in three passes to
// and fro.
func sixHighProgramme(rng *rand.Rand, name string, n int) []piece {
	var pieces []piece
	for i := range n {
		block, width, final := "panel", 1250.0, 0.7
		if i >= n/2 {
			block, width, final = "tube", 1040, 1.0
		}
		width = math.Round(width + 8*rng.NormFloat64())
		p := piece{ID: fmt.Sprintf("%s-%03d", name, i+1), Material: block, Block: block, MassT: round(width*0.0125, 3), WidthMM: width, EntryMM: round(final*3, 2)}
		for k, left := range []float64{0.62, 0.29, 0} {
			specific := []float64{6.2, 6.6, 7.1}[k] * math.Exp(0.03*rng.NormFloat64())
			p.Passes = append(p.Passes, pass{Stand: "X1", ExitMM: round(final*math.Pow(3, left), 3), ForceKN: math.Round(specific * width), SpeedMPS: []float64{6, 8, 10}[k], TempC: 60,
				InnerShiftMM: math.Round((sixHighBarrelMM-width)/2 - 20), InnerBendingKN: 150, Reverse: k%2 == 1})
		}
		pieces = append(pieces, p)
	}
	return pieces
}
