package main

import (
	"fmt"
	"math"
	"math/rand/v2"
	"time"
)

const temperMill = "temper"

// temper is a single four-high stand that takes annealed strip through a
// reduction of a per cent or so and gives it its surface.
func temper() *line {
	return &line{folder: "temper", mill: temperMill, minutes: 10, pieces: 65, perWeek: 10, weeks: 22, live: 2, grinders: 1, gaugeUM: 1.5, left: "MW", ahead: 95,
		stops:   []object{{"before_piece": 51, "name": "inspection", "minutes": 15}, {"before_piece": 76, "name": "shift handover", "minutes": 15}},
		classes: temperClasses, setUp: setUpTemper, programme: temperProgramme}
}

func temperClasses(spares int) []*class {
	return []*class{
		{prefix: "MW", role: "work", stands: []string{"TM1"}, grade: "forged-5cr-textured", newMM: 480, scrapMM: 425, shellMM: 426, barrelMM: 1700, spanMM: 2400, neckMM: 280, massKG: 3200,
			hardness: 97, price: 1_200_000, sets: 5 * spares, life: [2]float64{0.02, 0.6}, onOrder: 2, every: 1, coolH: 3, grindMin: 90, crownUM: 30, stock: 0.08, rate: 0.16, spread: 0.12, mishap: 0.05, ra: 2.8, raSpread: 0.1, purpose: "retexture"},
		{prefix: "MB", role: "backup", stands: []string{"TM1"}, grade: "forged-5cr-b", newMM: 1200, scrapMM: 1100, barrelMM: 1650, spanMM: 2500, neckMM: 640, massKG: 20000,
			hardness: 70, price: 12_000_000, sets: 3 * spares, life: [2]float64{0.03, 0.13}, every: 45, coolH: 24, grindMin: 360, stock: 1, rate: 0.004, spread: 0.1, ra: 0.9, raSpread: 0.08},
	}
}

func setUpTemper(s *shop, at time.Time) {
	s.post(at, "/v1/mills", object{"name": temperMill, "kind": "temper", "title": "Temper mill of an invented works", "density_kg_per_m3": density})
	s.postAll(at, "/v1/grades", []object{
		{"name": "forged-5cr-textured", "family": "forged_chromium_steel", "title": "Forged 5 % chromium, textured", "elastic_modulus_mpa": 208000, "poisson_ratio": 0.3, "allowable_stress_mpa": 220},
		{"name": "forged-5cr-b", "family": "forged_chromium_steel", "title": "Forged 5 % chromium backup", "elastic_modulus_mpa": 206000, "poisson_ratio": 0.3, "allowable_stress_mpa": 140},
	})
	s.post(at, "/v1/stands", object{"name": "TM1", "mill": temperMill, "order": 1, "arrangement": "four_high", "max_force_kn": 9000, "max_rpm": 900,
		"reference_work_diameter_mm": 480, "reference_backup_diameter_mm": 1200, "max_shim_mm": 120, "min_stack_mm": 3040, "max_stack_mm": 3370, "bending_force_kn": 250})
	s.postAll(at, "/v1/practices", []object{
		practiceOf(temperMill, "works", "", "", "", object{"gauge_uncertainty_um": 4, "stop_cost": 180000, "planned_stop_cost": 15000, "change_cost": 30000, "delivery_days": 270}),
		practiceOf(temperMill, "temper-work", "", "work", "", object{"least_stock_mm": 0.08, "neck_fillet_radius_mm": 40, "normal_stock_mm": 0.1, "pair_tolerance_um": 40, "max_wear_um": 100, "max_campaign_km": 240, "wear_rate_um_per_km": 0.16, "wear_rate_cv": 0.15, "edge_wear_factor": 1.05,
			"crown_um": 30, "crown_tolerance_um": 8, "taper_tolerance_um": 16, "roughness_min_um": 1.8, "roughness_max_um": 4, "roughness_floor_um": 0.6, "roughness_scale_km": 360, "roughness_limit_um": 1.6, "max_reduction_pct": 4, "hardness_min_shore_c": 92, "grind_min": 90, "cooling_h": 3, "margin_stock_um": 20, "roll_price": 1200000}),
		practiceOf(temperMill, "temper-backup", "", "backup", "", object{"least_stock_mm": 1, "neck_fillet_radius_mm": 90, "normal_stock_mm": 1.1, "pair_tolerance_um": 20000, "max_wear_um": 300, "max_campaign_km": 9000, "wear_rate_um_per_km": 0.004, "max_peak_pressure_mpa": 1800, "grind_min": 360, "cooling_h": 24, "roll_price": 12000000}),
	})
}

func temperProgramme(rng *rand.Rand, name string, n int) []piece {
	var pieces []piece
	for i := range n {
		block, width, thick := "panel", 1460.0, 0.8
		if i >= n/2 {
			block, width, thick = "drawing", 1280, 1.0
		}
		width = math.Round(width + 12*rng.NormFloat64())
		in := round(thick*math.Exp(0.05*rng.NormFloat64()), 3)
		reduction := 0.008 + 0.004*rng.Float64() // of 1; up to 4 % is rolled in such mills
		p := piece{ID: fmt.Sprintf("%s-%03d", name, i+1), Material: block, Block: block, MassT: round(width*0.0155, 3), WidthMM: width, EntryMM: in}
		p.Passes = []pass{{Stand: "TM1", ExitMM: round(in*(1-reduction), 4), ForceKN: math.Round(width * (2.6 + 60*reduction) * math.Exp(0.03*rng.NormFloat64())), SpeedMPS: 12, TempC: 40}}
		pieces = append(pieces, p)
	}
	return pieces
}
