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
	return &line{folder: "hot-strip", mill: stripMill, minutes: 2.5, perWeek: 205, weeks: 104, pieceWeeks: 20, left: "CW", ahead: 240,
		stops:   []object{{"before_piece": 76, "name": "shear blade", "minutes": 20}, {"before_piece": 161, "name": "shift handover and inspection", "minutes": 30}},
		classes: stripClasses, setUp: setUpStrip, programme: stripProgramme, mishaps: stripMishaps, eve: changeSome(1, 3)}
}

func stripClasses(spares int) []*class {
	return []*class{
		{prefix: "HW", role: "work", stands: []string{"F1", "F2", "F3"}, grade: "hss", newMM: 780, scrapMM: 700, shellMM: 704, barrelMM: 1900, spanMM: 2800, neckMM: 440, hardness: 83, price: 3_900_000, sets: 9 * spares, weeks: 2, crownUM: 60, stock: 0.12, rate: 3.1, spread: 0.12, wear: 0.14, ra: 0.75, raSpread: 0.06},
		{prefix: "CW", role: "work", stands: []string{"F4", "F5", "F6"}, grade: "ic-enhanced", newMM: 690, scrapMM: 622, barrelMM: 1900, spanMM: 2800, neckMM: 400, hardness: 79, price: 2_100_000, sets: 18 * spares, weeks: 1, crownUM: 80, stock: 0.15, rate: 3.0, spread: 0.15, wear: 0.26, ra: 0.75, raSpread: 0.06},
		{prefix: "FB", role: "backup", stands: []string{"F1", "F2", "F3", "F4", "F5", "F6"}, grade: "forged-5cr-b", newMM: 1500, scrapMM: 1370, barrelMM: 1900, spanMM: 2900, neckMM: 860, hardness: 66, price: 16_000_000, sets: 6 + 4*spares, weeks: 17, stock: 1.3, rate: 0.06, spread: 0.1, wear: 0.25, ra: 0.75, raSpread: 0.06},
		{prefix: "RW", role: "work", stands: []string{"R1"}, grade: "hicr-steel", newMM: 1150, scrapMM: 1050, barrelMM: 1950, spanMM: 2950, neckMM: 640, hardness: 74, price: 7_400_000, sets: 4 * spares, weeks: 6, stock: 0.8, rate: 3.6, spread: 0.12, wear: 0.5, ra: 0.75, raSpread: 0.06},
		{prefix: "RB", role: "backup", stands: []string{"R1"}, grade: "forged-5cr-b", newMM: 1550, scrapMM: 1420, barrelMM: 1950, spanMM: 3000, neckMM: 900, hardness: 64, price: 17_500_000, sets: 1 + 1*spares, weeks: 40, stock: 1.5, rate: 0.06, spread: 0.1, wear: 0.25, ra: 0.75, raSpread: 0.06},
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
		{"name": "works", "scope": object{"mill": stripMill}, "values": object{"stop_cost": 480000, "planned_stop_cost": 40000, "change_cost": 65000, "unused_km_cost": 700, "delivery_days": 230}},
		{"name": "early-work", "scope": scope("", "work", "hss"), "values": object{"least_stock_mm": 0.07, "neck_fillet_radius_mm": 60, "normal_stock_mm": 0.30, "pair_tolerance_um": 150, "max_wear_um": 320, "max_campaign_km": 90, "wear_rate_um_per_km": 3.2, "wear_rate_cv": 0.15, "edge_wear_factor": 1.2, "crown_um": 60, "crown_tolerance_um": 12, "roughness_min_um": 0.5, "roughness_max_um": 1.3, "hardness_min_shore_c": 76, "grind_min": 80, "cooling_h": 12, "margin_stock_um": 60, "roll_price": 3900000}},
		{"name": "late-work", "scope": scope("", "work", "ic-enhanced"), "values": object{"least_stock_mm": 0.09, "neck_fillet_radius_mm": 60, "normal_stock_mm": 0.42, "pair_tolerance_um": 120, "max_wear_um": 400, "max_campaign_km": 125, "wear_rate_um_per_km": 3.0, "wear_rate_cv": 0.18, "edge_wear_factor": 1.25, "crown_um": 80, "crown_tolerance_um": 12, "roughness_min_um": 0.4, "roughness_max_um": 1.0, "hardness_min_shore_c": 72, "grind_min": 70, "cooling_h": 12, "margin_stock_um": 80, "roll_price": 2100000}},
		{"name": "rougher-work", "scope": scope("R1", "work", ""), "values": object{"least_stock_mm": 0.8, "neck_fillet_radius_mm": 90, "normal_stock_mm": 1.2, "pair_tolerance_um": 400, "max_wear_um": 900, "max_campaign_t": 60000, "wear_rate_um_per_km": 3.6, "crown_um": 0, "crown_tolerance_um": 25, "max_plausible_stock_mm": 10, "grind_min": 150, "cooling_h": 16, "roll_price": 7400000}},
		{"name": "backups", "scope": scope("", "backup", ""), "values": object{"neck_fillet_radius_mm": 120, "normal_stock_mm": 2.0, "pair_tolerance_um": 25000, "max_wear_um": 900, "max_campaign_t": 180000, "wear_rate_um_per_km": 0.06, "crown_um": 0, "max_peak_pressure_mpa": 2100, "grind_min": 480, "cooling_h": 24, "delivery_days": 300, "roll_price": 16000000}},
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
	{"warm-up", 0.05, 1080, 1120, 3.6, "low-carbon", 1.0, "warm_up"},
	{"wide", 0.25, 1680, 1500, 3.4, "low-carbon", 1.0, ""},
	{"pipe", 0.15, 1480, 1440, 5.2, "micro-alloyed", 1.28, ""},
	{"middle", 0.35, 1420, 1180, 2.7, "structural", 1.1, ""},
	{"narrow", 0.20, 1160, 980, 2.1, "low-carbon", 1.0, "demanding"},
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
				MassT: round(width*(0.0112+0.0006*rng.NormFloat64()), 3), WidthMM: width, EntryMM: 225}
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

// stripMishaps puts the works' bad days into the history: two cobbles, a spall, a
// roll that is held.
func stripMishaps(s *shop, week int, rolling time.Time) {
	switch s.weeks - week {
	case s.weeks / 2:
		s.cobble("F5", rolling.Add(3*time.Hour), "tail pulled in at the looper")
	case 3:
		s.cobble("F6", rolling.Add(5*time.Hour), "strip folded at the coiler entry")
	case s.weeks / 3:
		s.spall(rolling.Add(30 * time.Hour))
	case 2:
		s.hold(rolling.Add(40 * time.Hour))
	}
}
