package main

import (
	"fmt"
	"time"
)

const millName = "strip"

// class is a sort of roll that shares stands, grade and practice.
type class struct {
	prefix   string
	role     string
	stands   []string
	grade    string
	newMM    float64
	scrapMM  float64
	shellMM  float64
	barrelMM float64
	spanMM   float64
	neckMM   float64
	hardness float64
	price    int64
	sets     int // per spare factor
	weeks    int // between changes at a stand
	crownUM  float64
	stock    float64 // mm ground off below the wear
	rate     float64 // hidden true wear, µm per km at 10 kN/mm
	spread   float64 // of the rate from roll to roll
}

func classes(spares int) []*class {
	return []*class{
		{"HW", "work", []string{"F1", "F2", "F3"}, "hss", 780, 700, 704, 1900, 2800, 440, 83, 3_900_000, 9 * spares, 2, 60, 0.12, 4.2, 0.12},
		{"CW", "work", []string{"F4", "F5", "F6"}, "ic-enhanced", 690, 622, 0, 1900, 2800, 400, 79, 2_100_000, 18 * spares, 1, 80, 0.15, 3.0, 0.15},
		{"FB", "backup", []string{"F1", "F2", "F3", "F4", "F5", "F6"}, "forged-5cr-b", 1500, 1370, 0, 1900, 2900, 860, 66, 16_000_000, 6 + 4*spares, 17, 0, 1.3, 0.06, 0.1},
		{"RW", "work", []string{"R1"}, "hicr-steel", 1150, 1050, 0, 1950, 2950, 640, 74, 7_400_000, 4 * spares, 6, 0, 0.8, 3.6, 0.12},
		{"RB", "backup", []string{"R1"}, "forged-5cr-b", 1550, 1420, 0, 1950, 3000, 900, 64, 17_500_000, 1 + 1*spares, 40, 0, 1.5, 0.06, 0.1},
	}
}

// setUp posts the mill, stands, grades and practices.
func (s *shop) setUp(at time.Time) {
	s.post(at, "/v1/mills", object{"name": millName, "kind": "hot_strip", "title": "Hot strip mill of an invented works", "density_kg_per_m3": 7850})
	for _, g := range []object{
		{"name": "hss", "family": "high_speed_steel", "title": "High speed steel, early finishing", "elastic_modulus_mpa": 220000, "poisson_ratio": 0.3, "density_kg_per_m3": 7700, "expansion_per_k": 11.5e-6, "conductivity_w_per_mk": 22, "specific_heat_j_per_kgk": 480, "allowable_stress_mpa": 160},
		{"name": "ic-enhanced", "family": "indefinite_chill", "title": "Enhanced indefinite chill, late finishing", "elastic_modulus_mpa": 175000, "poisson_ratio": 0.28, "density_kg_per_m3": 7500, "expansion_per_k": 11e-6, "conductivity_w_per_mk": 20, "specific_heat_j_per_kgk": 500, "allowable_stress_mpa": 120},
		{"name": "forged-5cr-b", "family": "forged_chromium_steel", "title": "Forged 5 % chromium backup", "elastic_modulus_mpa": 206000, "poisson_ratio": 0.3, "density_kg_per_m3": 7850, "allowable_stress_mpa": 140},
		{"name": "hicr-steel", "family": "high_chromium_steel", "title": "High chromium steel, rougher", "elastic_modulus_mpa": 210000, "poisson_ratio": 0.3, "density_kg_per_m3": 7600, "allowable_stress_mpa": 150},
	} {
		s.post(at, "/v1/grades", g)
	}
	s.post(at, "/v1/stands", object{"name": "R1", "mill": millName, "order": 1, "arrangement": "four_high", "reversing": true,
		"max_force_kn": 32000, "max_torque_knm": 3000, "min_rpm": 10, "max_rpm": 100, "reference_work_diameter_mm": 1150, "reference_backup_diameter_mm": 1550, "max_shim_mm": 250, "min_stack_mm": 4900, "max_stack_mm": 5420})
	for i := 1; i <= 6; i++ {
		stand := object{"name": fmt.Sprintf("F%d", i), "mill": millName, "order": i + 1, "arrangement": "four_high",
			"max_force_kn": 30000 - 1500*i, "min_rpm": []float64{20, 35, 55, 80, 110, 130}[i-1], "max_rpm": []float64{90, 150, 230, 330, 430, 500}[i-1],
			"reference_work_diameter_mm": 780, "reference_backup_diameter_mm": 1500, "max_shim_mm": 260, "min_stack_mm": 4000, "max_stack_mm": 4580, "bending_force_kn": 500}
		if i > 3 {
			stand["reference_work_diameter_mm"] = 690
			stand["min_stack_mm"], stand["max_stack_mm"] = 3950, 4400
		}
		s.post(at, "/v1/stands", stand)
	}
	scope := func(stand, role, grade string) object {
		o := object{"mill": millName}
		for k, v := range map[string]string{"stand": stand, "role": role, "grade": grade} {
			if v != "" {
				o[k] = v
			}
		}
		return o
	}
	for _, p := range []object{
		{"name": "works", "scope": object{"mill": millName}, "values": object{"stop_cost": 480000, "planned_stop_cost": 40000, "change_cost": 65000, "unused_km_cost": 700, "delivery_days": 230}},
		{"name": "early-work", "scope": scope("", "work", "hss"), "values": object{"normal_stock_mm": 0.30, "pair_tolerance_um": 150, "max_wear_um": 320, "max_campaign_km": 75, "wear_rate_um_per_km": 4.0, "wear_rate_cv": 0.15, "edge_wear_factor": 1.2, "crown_um": 60, "crown_tolerance_um": 12, "roughness_min_um": 0.5, "roughness_max_um": 1.3, "hardness_min_shore_c": 76, "grind_min": 80, "cooling_h": 12, "margin_stock_um": 60, "roll_price": 3900000}},
		{"name": "late-work", "scope": scope("", "work", "ic-enhanced"), "values": object{"normal_stock_mm": 0.42, "pair_tolerance_um": 120, "max_wear_um": 400, "max_campaign_km": 125, "wear_rate_um_per_km": 3.0, "wear_rate_cv": 0.18, "edge_wear_factor": 1.25, "crown_um": 80, "crown_tolerance_um": 12, "roughness_min_um": 0.4, "roughness_max_um": 1.0, "hardness_min_shore_c": 72, "grind_min": 70, "cooling_h": 12, "margin_stock_um": 80, "roll_price": 2100000}},
		{"name": "rougher-work", "scope": scope("R1", "work", ""), "values": object{"normal_stock_mm": 1.2, "pair_tolerance_um": 400, "max_wear_um": 900, "max_campaign_t": 60000, "wear_rate_um_per_km": 3.6, "crown_um": 0, "crown_tolerance_um": 25, "max_plausible_stock_mm": 10, "grind_min": 150, "cooling_h": 16, "roll_price": 7400000}},
		{"name": "backups", "scope": scope("", "backup", ""), "values": object{"normal_stock_mm": 2.0, "pair_tolerance_um": 25000, "max_wear_um": 900, "max_campaign_t": 180000, "wear_rate_um_per_km": 0.06, "crown_um": 0, "max_peak_pressure_mpa": 2100, "grind_min": 480, "cooling_h": 24, "delivery_days": 300, "roll_price": 16000000}},
		{"name": "last-stand", "scope": scope("F6", "work", ""), "values": object{"max_campaign_km": 110, "max_wear_um": 360}},
	} {
		s.post(at, "/v1/practices", p)
	}
}
