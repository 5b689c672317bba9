package main

import (
	"fmt"
	"math"
	"math/rand/v2"
	"time"
)

const (
	billetMill    = "billet"
	billetGrooveT = 2000
)

var billetStands = []string{"B1", "B2", "B3", "B4", "B5", "B6", "B7", "B8"}

// billet is a continuous mill, horizontal and vertical stands in turn, that
// takes blooms 7 in square to billets 4 in square.
func billet() *line {
	return &line{folder: "billet", mill: billetMill, minutes: 3.5, pieces: 370, perWeek: 7, weeks: 26, live: 1.6, grinders: 1, gaugeUM: 10, left: "BH", ahead: 240,
		stops:   []object{{"before_piece": 61, "name": "shear blade", "minutes": 20}, {"before_piece": 141, "name": "shift handover", "minutes": 20}},
		classes: billetClasses, setUp: setUpBillet, programme: billetProgramme, mishaps: map[int]func(*shop, time.Time){
			8: func(s *shop, rolling time.Time) {
				s.cobble("B6", rolling.Add(time.Hour), "bloom end split and wrapped at the guide")
			},
		}}
}

func billetClasses(spares int) []*class {
	box := grooving{count: 4, depthMM: 42, limitT: billetGrooveT, rate: 400}
	return []*class{
		{prefix: "BH", role: "work", stands: []string{"B1", "B3", "B5", "B7"}, grade: "nodular-pearlitic", newMM: 720, scrapMM: 630, barrelMM: 1000, spanMM: 1500, neckMM: 380, massKG: 4300,
			hardness: 50, price: 1_450_000, sets: 10 * spares, life: [2]float64{0.04, 0.25}, onOrder: 2, every: 7, coolH: 12, grindMin: 360, stock: 2.2, spread: 0.1, mishap: 0.03, ra: 3.2, raSpread: 0.3, purpose: "redress", grooves: box},
		{prefix: "BV", role: "work", stands: []string{"B2", "B4", "B6", "B8"}, grade: "nodular-pearlitic", newMM: 720, scrapMM: 630, barrelMM: 1000, spanMM: 1500, neckMM: 380, massKG: 4300,
			hardness: 50, price: 1_450_000, sets: 10 * spares, life: [2]float64{0.04, 0.25}, onOrder: 2, every: 7, coolH: 12, grindMin: 360, stock: 2.2, spread: 0.1, mishap: 0.03, ra: 3.2, raSpread: 0.3, purpose: "redress", grooves: box},
	}
}

func setUpBillet(s *shop, at time.Time) {
	s.post(at, "/v1/mills", object{"name": billetMill, "kind": "billet", "title": "Continuous billet mill of an invented works", "density_kg_per_m3": density})
	s.post(at, "/v1/grades", object{"name": "nodular-pearlitic", "family": "nodular_iron", "title": "Pearlitic nodular iron, grooved", "elastic_modulus_mpa": 172000, "poisson_ratio": 0.28, "allowable_stress_mpa": 90})
	for i, name := range billetStands {
		stand := object{"name": name, "mill": billetMill, "order": i + 1, "arrangement": "two_high",
			"max_force_kn": 3600 - 150*i, "max_torque_knm": 260, "min_rpm": []float64{6, 7, 8, 10, 11, 13, 15, 17}[i], "max_rpm": []float64{30, 36, 42, 50, 58, 66, 76, 90}[i],
			"reference_work_diameter_mm": 720, "min_stack_mm": 1260, "max_stack_mm": 1450}
		if i%2 == 1 {
			stand["orientation"] = "vertical"
		}
		s.post(at, "/v1/stands", stand)
	}
	s.postAll(at, "/v1/practices", []object{
		practiceOf(billetMill, "works", "", "", "", object{"stop_cost": 260000, "planned_stop_cost": 25000, "change_cost": 90000, "delivery_days": 180}),
		practiceOf(billetMill, "billet-work", "", "work", "", object{"neck_fillet_radius_mm": 55, "normal_stock_mm": 3, "max_plausible_stock_mm": 15, "pair_tolerance_um": 300, "gauge_uncertainty_um": 50,
			"max_campaign_t": 8600, "max_groove_t": billetGrooveT, "groove_wear_um_per_kt": 400, "redress_margin_um": 2200, "taper_tolerance_um": 40, "runout_tolerance_um": 40, "crown_tolerance_um": 200,
			"hardness_min_shore_c": 42, "grind_min": 360, "cooling_h": 12, "assembly_min": 120, "change_min": 40, "roll_price": 1450000}),
	})
}

// billetProgramme makes blooms about 40 ft long.
func billetProgramme(rng *rand.Rand, name string, n int) []piece {
	var pieces []piece
	for i := range n {
		hard := 1 + 0.1*float64(i%3)
		p := piece{ID: fmt.Sprintf("%s-%03d", name, i+1), Material: []string{"low-carbon", "structural", "spring"}[i%3],
			Block: []string{"a", "b", "c", "d"}[4*i/n], MassT: round(3.02+0.03*rng.NormFloat64(), 3), WidthMM: round(7*inch, 1), EntryMM: round(7*inch, 1)}
		high, wide := 7*inch, 7*inch
		for k, stand := range billetStands {
			if k > 0 {
				high, wide = wide, high // the next stand works on the other pair of sides
			}
			out, broad := boxPass(high, wide, 4*inch, len(billetStands)-k)
			temp := 1150 - 9*float64(k)
			force := 0.9 * hard * math.Sqrt(340*(high-out)) * broad * (0.055 + 0.0003*(1150-temp)) * math.Exp(0.03*rng.NormFloat64()) * 1.9
			p.Passes = append(p.Passes, pass{Stand: stand, EntryMM: round(high, 1), ExitMM: round(out, 1), WidthMM: round(broad, 1), ForceKN: math.Round(force / 2),
				SpeedMPS: round(1.9*4*inch*4*inch/(out*broad), 3), TempC: math.Round(temp)})
			high, wide = out, broad
		}
		pieces = append(pieces, p)
	}
	return pieces
}

// boxPass takes a share of what is left to the final square in left passes,
// and lets a fifth of the draft go into spread.
func boxPass(high, wide, to float64, left int) (out, broad float64) {
	area := math.Pow(to*to/(high*wide), 1/float64(left)) * high * wide
	// high·wide falls to area with broad = wide + (high − out)/5.
	b := high + 5*wide
	out = (b - math.Sqrt(b*b-20*area)) / 2
	return out, wide + (high-out)/5
}
