package main

import (
	"fmt"
	"math"
	"math/rand/v2"
	"time"
)

const plateMill = "plate"

// plate is a four-high reversing stand that takes slabs 9 in thick to plate.
func plate() *line {
	return &line{folder: "plate", mill: plateMill, minutes: 4.2, pieces: 200, perWeek: 10, weeks: 26, live: 1, grinders: 1, gaugeUM: 6, left: "PW", ahead: 260,
		stops:   []object{{"before_piece": 71, "name": "descaler nozzles", "minutes": 20}, {"before_piece": 161, "name": "shift handover", "minutes": 20}},
		classes: plateClasses, setUp: setUpPlate, programme: plateProgramme, mishaps: map[int]func(*shop, time.Time){
			5: func(s *shop, rolling time.Time) {
				s.mark("P1", "bruise", rolling.Add(3*time.Hour), "turned-up end struck the upper roll")
			},
		}}
}

func plateClasses(spares int) []*class {
	return []*class{
		{prefix: "PW", role: "work", stands: []string{"P1"}, grade: "ic-plate", newMM: 1020, scrapMM: 940, shellMM: 943, barrelMM: 3800, spanMM: 4900, neckMM: 640, massKG: 30500,
			hardness: 74, price: 9_800_000, sets: 7 * spares, life: [2]float64{0.04, 0.9}, onOrder: 4, every: 1, coolH: 16, grindMin: 200, crownUM: 150, stock: 0.5, rate: 9, spread: 0.12, mishap: 0.05, ra: 1.1, raSpread: 0.1},
		{prefix: "PB", role: "backup", stands: []string{"P1"}, grade: "forged-3cr-b", newMM: 1850, scrapMM: 1710, barrelMM: 3700, spanMM: 5000, neckMM: 1200, massKG: 98000,
			hardness: 62, price: 38_000_000, sets: 3 * spares, life: [2]float64{0.05, 0.3}, every: 50, coolH: 36, grindMin: 900, stock: 2.5, rate: 0.1, spread: 0.1, ra: 1.4, raSpread: 0.1},
	}
}

func setUpPlate(s *shop, at time.Time) {
	s.post(at, "/v1/mills", object{"name": plateMill, "kind": "plate", "title": "Plate mill of an invented works", "density_kg_per_m3": density})
	s.postAll(at, "/v1/grades", []object{
		{"name": "ic-plate", "family": "indefinite_chill", "title": "Indefinite chill, plate", "elastic_modulus_mpa": 175000, "poisson_ratio": 0.28, "density_kg_per_m3": 7500, "allowable_stress_mpa": 120},
		{"name": "forged-3cr-b", "family": "forged_chromium_steel", "title": "Forged 3 % chromium backup", "elastic_modulus_mpa": 206000, "poisson_ratio": 0.3, "allowable_stress_mpa": 140},
	})
	s.post(at, "/v1/stands", object{"name": "P1", "mill": plateMill, "order": 1, "arrangement": "four_high", "reversing": true, "max_force_kn": 60000, "max_torque_knm": 4200, "max_rpm": 120,
		"reference_work_diameter_mm": 1020, "reference_backup_diameter_mm": 1850, "max_shim_mm": 240, "min_stack_mm": 5280, "max_stack_mm": 5760, "bending_force_kn": 1200})
	s.postAll(at, "/v1/practices", []object{
		practiceOf(plateMill, "works", "", "", "", object{"stop_cost": 420000, "planned_stop_cost": 40000, "change_cost": 160000, "delivery_days": 300}),
		practiceOf(plateMill, "plate-work", "", "work", "", object{"least_stock_mm": 0.48, "neck_fillet_radius_mm": 100, "normal_stock_mm": 0.8, "pair_tolerance_um": 200, "max_wear_um": 420, "max_campaign_t": 2600, "wear_rate_um_per_km": 9, "wear_rate_cv": 0.15, "edge_wear_factor": 1.15,
			"crown_um": 150, "crown_tolerance_um": 25, "roughness_min_um": 0.6, "roughness_max_um": 1.8, "hardness_min_shore_c": 68, "grind_min": 200, "cooling_h": 16, "margin_stock_um": 100, "roll_price": 9800000}),
		practiceOf(plateMill, "plate-backup", "", "backup", "", object{"least_stock_mm": 2.2, "neck_fillet_radius_mm": 180, "normal_stock_mm": 3, "pair_tolerance_um": 25000, "max_wear_um": 1000, "max_campaign_t": 160000, "wear_rate_um_per_km": 0.1, "max_peak_pressure_mpa": 2200, "grind_min": 900, "cooling_h": 36, "roll_price": 38000000}),
	})
}

// plateBlocks are the parts of a programme: wide to narrow.
var plateBlocks = []struct {
	name  string
	share float64
	width float64
	final float64
	hard  float64
}{
	{"ship", 0.4, 3300, 14, 1},
	{"line-pipe", 0.3, 3000, 20, 1.2},
	{"structural", 0.3, 2500, 32, 1.05},
}

func plateProgramme(rng *rand.Rand, name string, n int) []piece {
	var pieces []piece
	for _, b := range plateBlocks {
		for range int(math.Round(b.share * float64(n))) {
			width := math.Round(b.width + 40*rng.NormFloat64())
			final := round(b.final*math.Exp(0.12*rng.NormFloat64()), 1)
			p := piece{ID: fmt.Sprintf("%s-%03d", name, len(pieces)+1), Material: b.name, Block: b.name,
				MassT: round(11+0.8*rng.NormFloat64(), 3), WidthMM: width, EntryMM: round(9*inch, 1)}
			p.Passes = platePasses(rng, width, final, b.hard)
			pieces = append(pieces, p)
		}
	}
	return pieces
}

// platePasses roll to thickness in reversing passes of about a fifth each.
func platePasses(rng *rand.Rand, width, final, hard float64) []pass {
	count := int(math.Ceil(math.Log(9*inch/final)/0.23)) | 1 // an odd number, to leave on the far side
	passes := make([]pass, count)
	for i := range passes {
		h := 9 * inch * math.Pow(final/(9*inch), float64(i+1)/float64(count))
		specific := (6.5 + 8*float64(i)/float64(count)) * hard * math.Exp(0.03*rng.NormFloat64())
		passes[i] = pass{Stand: "P1", ExitMM: round(h, 2), ForceKN: math.Round(math.Min(specific*width, 56000)), SpeedMPS: round(2+0.2*float64(i), 1), TempC: math.Round(1150 - 15*float64(i)), Reverse: i%2 == 1}
	}
	return passes
}
