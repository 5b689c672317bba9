package main

import (
	"fmt"
	"math"
	"math/rand/v2"
	"time"
)

const stripMill = "strip"

var stripFinishing = []string{"F1", "F2", "F3", "F4", "F5", "F6"}

// hotStrip is a hot strip mill: a reversing rougher and six finishing stands.
func hotStrip() *line {
	return &line{folder: "hot-strip", mill: stripMill, minutes: 3.6, pieces: 75, perWeek: 33, weeks: 12, live: 1.5, grinders: 2, gaugeUM: 6, left: "CW", ahead: 300,
		stops:   []object{{"before_piece": 77, "name": "shear blade", "minutes": 20}, {"before_piece": 153, "name": "shift handover and inspection", "minutes": 30}, {"before_piece": 229, "name": "descaler nozzles", "minutes": 20}},
		classes: stripClasses, setUp: setUpStrip, programme: stripProgrammes, mishaps: stripMishaps}
}

func stripClasses(spares int) []*class {
	return []*class{
		{prefix: "HW", role: "work", stands: []string{"F1", "F2", "F3"}, grade: "hss", newMM: 780, scrapMM: 700, shellMM: 704, barrelMM: 1900, spanMM: 2800, neckMM: 440, massKG: 9300, hardness: 83, price: 3_900_000, sets: 13 * spares, life: [2]float64{0.06, 0.95}, store: 1, onOrder: 4, every: 5, coolH: 12, grindMin: 65, crownUM: 60, stock: 0.2, rate: 2.2, spread: 0.12, mishap: 0.03, ra: 0.75, raSpread: 0.06},
		{prefix: "CW", role: "work", stands: []string{"F4", "F5", "F6"}, grade: "ic-enhanced", newMM: 690, scrapMM: 628, barrelMM: 1900, spanMM: 2800, neckMM: 400, massKG: 7400, hardness: 79, price: 2_100_000, sets: 18 * spares, life: [2]float64{0.05, 1}, store: 18, onOrder: 18, every: 1, coolH: 12, grindMin: 70, crownUM: 80, stock: 0.32, rate: 3.0, spread: 0.15, mishap: 0.05, ra: 0.75, raSpread: 0.06},
		{prefix: "FB", role: "backup", stands: stripFinishing, grade: "forged-5cr-b", newMM: 1500, scrapMM: 1370, barrelMM: 1900, spanMM: 2900, neckMM: 860, massKG: 38500, hardness: 66, price: 16_000_000, sets: 13 * spares, life: [2]float64{0.05, 0.42}, onOrder: 4, every: 96, coolH: 24, grindMin: 480, stock: 2.0, rate: 0.06, spread: 0.1, ra: 0.75, raSpread: 0.06},
		{prefix: "RW", role: "work", stands: []string{"R1"}, grade: "hicr-steel", newMM: 1150, scrapMM: 1050, barrelMM: 1950, spanMM: 2950, neckMM: 640, massKG: 19500, hardness: 74, price: 7_400_000, sets: 4 * spares, life: [2]float64{0.15, 0.8}, every: 20, coolH: 16, grindMin: 150, stock: 1.2, rate: 2.2, spread: 0.12, mishap: 0.1, ra: 0.75, raSpread: 0.06},
		{prefix: "RB", role: "backup", stands: []string{"R1"}, grade: "forged-5cr-b", newMM: 1550, scrapMM: 1420, barrelMM: 1950, spanMM: 3000, neckMM: 900, massKG: 42500, hardness: 64, price: 17_500_000, sets: 3 * spares, life: [2]float64{0.05, 0.3}, every: 160, coolH: 24, grindMin: 480, stock: 2.2, rate: 0.06, spread: 0.1, ra: 0.75, raSpread: 0.06},
	}
}

// setUpStrip posts the mill, stands, grades and practices.
func setUpStrip(s *shop, at time.Time) {
	s.post(at, "/v1/mills", object{"name": stripMill, "kind": "hot_strip", "title": "Hot strip mill of an invented works", "density_kg_per_m3": 7850})
	for _, g := range []object{
		{"name": "hss", "family": "high_speed_steel", "title": "High speed steel, early finishing", "elastic_modulus_mpa": 220000, "poisson_ratio": 0.3, "density_kg_per_m3": 7700, "expansion_per_k": 11.5e-6, "conductivity_w_per_mk": 22, "specific_heat_j_per_kgk": 480, "allowable_stress_mpa": 160},
		{"name": "ic-enhanced", "family": "indefinite_chill", "title": "Enhanced indefinite chill, late finishing", "elastic_modulus_mpa": 175000, "poisson_ratio": 0.28, "density_kg_per_m3": 7500, "expansion_per_k": 11e-6, "conductivity_w_per_mk": 20, "specific_heat_j_per_kgk": 500, "allowable_stress_mpa": 120},
		{"name": "forged-5cr-b", "family": "forged_chromium_steel", "title": "Forged 5 % chromium backup", "elastic_modulus_mpa": 206000, "poisson_ratio": 0.3, "density_kg_per_m3": 7850, "allowable_stress_mpa": 140},
		{"name": "hicr-steel", "family": "high_chromium_steel", "title": "High chromium steel, rougher", "elastic_modulus_mpa": 210000, "poisson_ratio": 0.3, "density_kg_per_m3": 7600, "allowable_stress_mpa": 150},
	} {
		s.post(at, "/v1/grades", g)
	}
	s.post(at, "/v1/stands", object{"name": "R1", "mill": stripMill, "order": 1, "arrangement": "four_high", "reversing": true,
		"max_force_kn": 32000, "max_torque_knm": 3600, "min_rpm": 10, "max_rpm": 100, "reference_work_diameter_mm": 1150, "reference_backup_diameter_mm": 1550, "max_shim_mm": 250, "min_stack_mm": 4900, "max_stack_mm": 5420})
	for i := 1; i <= 6; i++ {
		stand := object{"name": fmt.Sprintf("F%d", i), "mill": stripMill, "order": i + 1, "arrangement": "four_high",
			"max_force_kn": 30000 - 1500*i, "min_rpm": []float64{15, 28, 42, 65, 90, 110}[i-1], "max_rpm": []float64{90, 150, 230, 330, 430, 500}[i-1],
			"reference_work_diameter_mm": 780, "reference_backup_diameter_mm": 1500, "max_shim_mm": 260, "min_stack_mm": 4000, "max_stack_mm": 4580, "bending_force_kn": 500}
		if i > 3 {
			stand["reference_work_diameter_mm"] = 690
			stand["min_stack_mm"], stand["max_stack_mm"] = 3950, 4400
		}
		s.post(at, "/v1/stands", stand)
	}
	scope := func(stand, role, grade string) object {
		o := object{"mill": stripMill}
		for k, v := range map[string]string{"stand": stand, "role": role, "grade": grade} {
			if v != "" {
				o[k] = v
			}
		}
		return o
	}
	for _, p := range []object{
		{"name": "works", "scope": object{"mill": stripMill}, "values": object{"grinders": 2, "stop_cost": 480000, "planned_stop_cost": 40000, "change_cost": 65000, "unused_km_cost": 700, "delivery_days": 230}},
		{"name": "early-work", "scope": scope("", "work", "hss"), "values": object{"least_stock_mm": 0.18, "neck_fillet_radius_mm": 60, "normal_stock_mm": 0.45, "pair_tolerance_um": 150, "max_wear_um": 420, "max_campaign_km": 120, "wear_rate_um_per_km": 2.3, "wear_rate_cv": 0.15, "edge_wear_factor": 1.2, "crown_um": 60, "crown_tolerance_um": 12, "roughness_min_um": 0.5, "roughness_max_um": 1.3, "hardness_min_shore_c": 76, "grind_min": 65, "cooling_h": 12, "margin_stock_um": 60, "roll_price": 3900000}},
		{"name": "late-work", "scope": scope("", "work", "ic-enhanced"), "values": object{"least_stock_mm": 0.3, "neck_fillet_radius_mm": 60, "normal_stock_mm": 0.5, "pair_tolerance_um": 120, "max_wear_um": 400, "max_campaign_km": 125, "max_campaign_t": 1900, "wear_rate_um_per_km": 3.0, "wear_rate_cv": 0.18, "edge_wear_factor": 1.25, "crown_um": 80, "crown_tolerance_um": 12, "roughness_min_um": 0.4, "roughness_max_um": 1.0, "hardness_min_shore_c": 72, "grind_min": 70, "cooling_h": 12, "margin_stock_um": 80, "roll_price": 2100000}},
		{"name": "rougher-work", "scope": scope("R1", "work", ""), "values": object{"least_stock_mm": 1.15, "neck_fillet_radius_mm": 90, "normal_stock_mm": 1.8, "pair_tolerance_um": 400, "max_wear_um": 900, "max_campaign_t": 45000, "wear_rate_um_per_km": 2.2, "crown_um": 0, "crown_tolerance_um": 25, "max_plausible_stock_mm": 10, "grind_min": 150, "cooling_h": 16, "roll_price": 7400000}},
		{"name": "backups", "scope": scope("", "backup", ""), "values": object{"least_stock_mm": 2, "neck_fillet_radius_mm": 120, "normal_stock_mm": 2.3, "pair_tolerance_um": 25000, "max_wear_um": 900, "max_campaign_t": 320000, "wear_rate_um_per_km": 0.06, "crown_um": 0, "max_peak_pressure_mpa": 2100, "grind_min": 480, "cooling_h": 24, "delivery_days": 300, "roll_price": 16000000}},
		{"name": "structural", "scope": object{"mill": stripMill, "material": "structural"}, "values": object{"carbon_pct": 0.17, "manganese_pct": 1.3}},
		{"name": "micro-alloyed", "scope": object{"mill": stripMill, "material": "micro-alloyed"}, "values": object{"carbon_pct": 0.08, "manganese_pct": 1.6, "flow_stress_factor": 1.28}},
		{"name": "low-carbon", "scope": object{"mill": stripMill, "material": "low-carbon"}, "values": object{"carbon_pct": 0.05, "manganese_pct": 0.3}},
		{"name": "last-stand", "scope": scope("F6", "work", ""), "values": object{"max_campaign_km": 110, "max_wear_um": 360}},
	} {
		s.post(at, "/v1/practices", p)
	}
}

// stripBlocks are the parts of a programme: warm-up, then wide to narrow.
var stripBlocks = []struct {
	name       string
	share      float64
	wide, slim float64 // width from, to
	thick      float64 // final thickness about
	material   string
	hard       float64
	demand     string
}{
	{"warm-up", 0.06, 1150, 1180, 3.6, "low-carbon", 1.0, "warm_up"},
	{"wide", 0.25, 1750, 1580, 3.4, "low-carbon", 1.0, ""},
	{"pipe", 0.15, 1550, 1510, 5.2, "micro-alloyed", 1.28, ""},
	{"middle", 0.34, 1490, 1260, 2.7, "structural", 1.1, ""},
	{"narrow", 0.20, 1230, 1050, 2.1, "low-carbon", 1.0, "demanding"},
}

// stripProgrammes makes pieces as the mill rolls them: programmes of 75 one after
// the other, each from warm-up to narrow.
func stripProgrammes(rng *rand.Rand, name string, n int) []piece {
	if n <= 75 {
		return stripProgramme(rng, name, n)
	}
	var all []piece
	for i := 0; len(all) < n; i++ {
		for _, p := range stripProgramme(rng, fmt.Sprintf("%s%d", name, i+1), 75) {
			p.Block = fmt.Sprintf("%d-%s", i+1, p.Block)
			all = append(all, p)
		}
	}
	return all
}

// stripProgramme makes the pieces of one campaign of about n pieces. Pieces come
// in orders of a few coils of one width and thickness.
func stripProgramme(rng *rand.Rand, name string, n int) []piece {
	var pieces []piece
	for _, b := range stripBlocks {
		count := max(3, int(math.Round(b.share*float64(n))))
		var width, final float64
		for i, left := 0, 0; i < count; i, left = i+1, left-1 {
			if left == 0 {
				left = 4 + rng.IntN(6)
				width = 5 * math.Round((b.wide+(b.slim-b.wide)*float64(i)/float64(count))/5)
				final = round(b.thick*math.Exp(0.12*rng.NormFloat64()), 2)
			}
			p := piece{ID: fmt.Sprintf("%s-%03d", name, len(pieces)+1), Material: b.material, Block: b.name, Demand: b.demand,
				MassT: round(width*(0.0165+0.0006*rng.NormFloat64()), 3), WidthMM: width, EntryMM: 225}
			p.Passes = append(stripRough(rng, width, b.hard), stripFinish(rng, width, final, b.hard)...)
			pieces = append(pieces, p)
		}
	}
	return pieces
}

// stripRough rolls the slab to a transfer bar in five reversing passes.
func stripRough(rng *rand.Rand, width, hard float64) []pass {
	passes := make([]pass, 5)
	for i, h := range []float64{172, 122, 80, 51, 34} {
		specific := []float64{8.6, 9.3, 10.4, 11.8, 13.0}[i] * hard * math.Exp(0.015*rng.NormFloat64())
		passes[i] = pass{Stand: "R1", ExitMM: h, ForceKN: math.Round(min(31500, specific*width)), SpeedMPS: round(2.2+0.35*float64(i), 2), TempC: math.Round(1190 - 22*float64(i) + 6*rng.NormFloat64()), Reverse: i%2 == 1}
	}
	return passes
}

// stripFinish rolls the bar to strip through the six stands in one pass.
func stripFinish(rng *rand.Rand, width, final, hard float64) []pass {
	passes := make([]pass, len(stripFinishing))
	// The share of the logarithmic thickness change left after each stand.
	left := []float64{0.78, 0.57, 0.385, 0.225, 0.095, 0}
	last := math.Min(9.5, 26/final+1.5)
	for i, name := range stripFinishing {
		h := final * math.Pow(34/final, left[i])
		specific := []float64{14.2, 14.0, 13.2, 12.0, 10.6, 8.6}[i] * hard * math.Pow(3/final, 0.28) * math.Exp(0.015*rng.NormFloat64())
		passes[i] = pass{Stand: name, ExitMM: round(h, 3), ForceKN: math.Round(min(specific*width, 27500-1500*float64(i))),
			SpeedMPS: round(last*final/h, 3), TempC: math.Round(1010 - 24*float64(i) + 5*rng.NormFloat64())}
	}
	return passes
}

// stripMishaps are the works' bad days: two cobbles, a spall, a roll that is held.
var stripMishaps = map[int]func(*shop, time.Time){
	40: func(s *shop, rolling time.Time) {
		s.cobble("F5", rolling.Add(2*time.Hour), "tail pulled in at the looper")
	},
	9: func(s *shop, rolling time.Time) {
		s.cobble("F6", rolling.Add(2*time.Hour), "strip folded at the coiler entry")
	},
	25: func(s *shop, rolling time.Time) { s.spall(rolling.Add(time.Hour)) },
	7:  func(s *shop, rolling time.Time) { s.hold(rolling.Add(time.Hour)) },
}
