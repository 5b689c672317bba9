package main

import (
	"fmt"
	"math"
	"math/rand/v2"
	"time"
)

const (
	coggingMill = "cogging"
	inch        = 25.4
	// longTonKN is a long ton-force, 2240 lbf, in kN.
	longTonKN = 9.96401641818352
)

// cogging is a two-high reversing mill that takes ingots 26 in square down to
// blooms about 7 in square.
func cogging() *line {
	return &line{folder: "cogging", mill: coggingMill, minutes: 6, pieces: 100, perWeek: 7, weeks: 40, live: 44. / 7, grinders: 1, gaugeUM: 30, left: "CG", leftFor: 14, ahead: 120,
		stops:   []object{{"before_piece": 31, "name": "scale pit", "minutes": 30}, {"before_piece": 81, "name": "shift handover", "minutes": 20}},
		classes: coggingClasses, setUp: setUpCogging, programme: coggingProgramme}
}

func coggingClasses(spares int) []*class {
	return []*class{
		{prefix: "CG", role: "work", stands: []string{"CG1"}, grade: "cast-cogging", newMM: 1060, scrapMM: 940, barrelMM: 2600, spanMM: 3300, neckMM: 680, massKG: 22000,
			hardness: 42, price: 6_200_000, sets: 3 * spares, life: [2]float64{0.2, 0.62}, onOrder: 2, every: 15, coolH: 20, grindMin: 300, stock: 4.9, rate: 1, spread: 0.12, ra: 3.2, raSpread: 0.3},
	}
}

func setUpCogging(s *shop, at time.Time) {
	s.post(at, "/v1/mills", object{"name": coggingMill, "kind": "cogging", "title": "Cogging mill of an invented works", "density_kg_per_m3": density})
	s.post(at, "/v1/grades", object{"name": "cast-cogging", "family": "cast_steel", "title": "Cast steel, cogging", "elastic_modulus_mpa": 206000, "poisson_ratio": 0.3, "allowable_stress_mpa": 110})
	s.post(at, "/v1/stands", object{"name": "CG1", "mill": coggingMill, "order": 1, "arrangement": "two_high", "reversing": true,
		"max_force_kn": 10400, "max_torque_knm": 3200, "max_rpm": 80, "reference_work_diameter_mm": 1060, "max_shim_mm": 70, "min_stack_mm": 1880, "max_stack_mm": 2130})
	s.postAll(at, "/v1/practices", []object{
		practiceOf(coggingMill, "works", "", "", "", object{"stop_cost": 300000, "planned_stop_cost": 30000, "change_cost": 220000, "delivery_days": 210}),
		practiceOf(coggingMill, "cogging-work", "", "work", "", object{"neck_fillet_radius_mm": 100, "wobbler_diameter_mm": 640, "normal_stock_mm": 5, "max_plausible_stock_mm": 25, "margin_stock_um": 500, "pair_tolerance_um": 500, "gauge_uncertainty_um": 50,
			"max_wear_um": 1500, "max_campaign_t": 10100, "wear_rate_um_per_km": 1, "wear_rate_cv": 0.15, "edge_wear_factor": 1, "crown_um": 0, "crown_tolerance_um": 100, "fire_crack_um_per_piece": 1.5, "max_fire_crack_um": 3200, "overload_margin_min": 0.05, "taper_tolerance_um": 40,
			"hardness_min_shore_c": 35, "grind_min": 300, "cooling_h": 20, "assembly_min": 180, "change_min": 90, "roll_price": 6200000}),
		{"name": "rail", "scope": object{"mill": coggingMill, "material": "rail"}, "values": object{"carbon_pct": 0.75, "manganese_pct": 1}},
		{"name": "soft", "scope": object{"mill": coggingMill, "material": "soft"}, "values": object{"carbon_pct": 0.12, "manganese_pct": 0.5}},
	})
}

// coggingProgramme makes ingots of one size; what differs is their steel and
// how hot they come.
func coggingProgramme(rng *rand.Rand, name string, n int) []piece {
	var pieces []piece
	for i := range n {
		block, hard := "soft", 1.0
		if i > 2*n/3 {
			block, hard = "rail", 1.0
		}
		p := piece{ID: fmt.Sprintf("%s-%03d", name, i+1), Material: block, Block: block, MassT: round(6.7+0.05*rng.NormFloat64(), 3), WidthMM: 660.4, EntryMM: 660.4}
		p.Passes = cog(26*inch, 7*inch, hard*math.Exp(0.03*rng.NormFloat64()), 1240+8*rng.NormFloat64())
		pieces = append(pieces, p)
	}
	return pieces
}

// cog draws a square down in reversing passes of at most 2 in of draft, turned
// on its side after every two. Draft shrinks as the section does, so that the
// mill can bite; a twentieth of it goes into spread.
func cog(from, to, hard, hot float64) []pass {
	high, wide := from, from
	var passes []pass
	for high > to+4 || wide > to+4 {
		if len(passes)%2 == 0 && len(passes) > 0 {
			high, wide = wide, high
		}
		draft := math.Min(2*inch, math.Max(0.14*high, high-to))
		draft = math.Min(draft, high-to)
		if draft < 0.1 {
			high, wide = wide, high
			draft = math.Min(2*inch, high-to)
		}
		out := high - draft
		k := float64(len(passes))
		temp := hot - 11*k
		specific := 0.62 * hard * math.Sqrt(500*draft) * (1 + (1240-temp)/260) * (1 + 0.4*math.Sqrt(500*draft)/(high+out)) / 10 // kN per mm of width
		passes = append(passes, pass{Stand: "CG1", EntryMM: round(high, 1), ExitMM: round(out, 1), WidthMM: round(wide, 1),
			ForceKN: math.Round(math.Min(specific*wide, 1000*longTonKN)), SpeedMPS: round(math.Min(3.2, 1.4+0.1*k), 2), TempC: math.Round(temp), Reverse: len(passes)%2 == 1})
		high, wide = out, wide+0.05*draft
	}
	return passes
}
