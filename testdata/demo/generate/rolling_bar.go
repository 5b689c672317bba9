package main

import (
	"fmt"
	"math"
	"math/rand/v2"
	"time"
)

const barMill = "bar"

// mph is a mile an hour in m/s.
const mph = 0.44704

// The 18 stands of the bar mill in three groups.
var (
	barRoughing     = []string{"BR1", "BR2", "BR3", "BR4", "BR5", "BR6"}
	barIntermediate = []string{"BI1", "BI2", "BI3", "BI4", "BI5", "BI6"}
	barFinishing    = []string{"BF1", "BF2", "BF3", "BF4", "BF5", "BF6"}
)

// barGrooves are the tonnes a groove of each group is given, its wear and its
// depth.
var barGrooves = []struct{ limitT, rate, depthMM float64 }{{5000, 150, 40}, {2600, 250, 16}, {1300, 500, 8}}

// bar is an 18-stand mill that takes billets 5 in square to round bar at up to
// 40 mph.
func bar() *line {
	return &line{folder: "bar", mill: barMill, minutes: 2.6, pieces: 470, perWeek: 7, weeks: 26, live: 1.3, grinders: 2, gaugeUM: 10, left: "FR", ahead: 260,
		stops:   []object{{"before_piece": 65, "name": "size setting", "minutes": 15}, {"before_piece": 161, "name": "shift handover", "minutes": 20}},
		classes: barClasses, setUp: setUpBar, programme: barProgramme, mishaps: map[int]func(*shop, time.Time){
			6: func(s *shop, rolling time.Time) {
				s.cobble("BI3", rolling.Add(time.Hour), "bar missed the guide and wrapped")
			},
		}}
}

func barClasses(spares int) []*class {
	return []*class{
		{prefix: "RR", role: "work", stands: barRoughing, grade: "steel-roughing", newMM: 560, scrapMM: 490, barrelMM: 800, spanMM: 1200, neckMM: 300, massKG: 2000,
			hardness: 45, price: 900_000, sets: 14 * spares, life: [2]float64{0.04, 0.3}, onOrder: 2, every: 21, coolH: 8, grindMin: 200, stock: 3, spread: 0.1, mishap: 0.02, ra: 3.2, raSpread: 0.3, purpose: "redress",
			grooves: grooving{count: 3, depthMM: barGrooves[0].depthMM, limitT: barGrooves[0].limitT, rate: barGrooves[0].rate}},
		{prefix: "IR", role: "work", stands: barIntermediate, grade: "nodular-bainitic", newMM: 430, scrapMM: 375, barrelMM: 700, spanMM: 1050, neckMM: 230, massKG: 1100,
			hardness: 62, price: 620_000, sets: 14 * spares, life: [2]float64{0.04, 0.3}, onOrder: 2, every: 14, coolH: 8, grindMin: 200, stock: 2, spread: 0.1, mishap: 0.02, ra: 2.4, raSpread: 0.3, purpose: "redress",
			grooves: grooving{count: 4, depthMM: barGrooves[1].depthMM, limitT: barGrooves[1].limitT, rate: barGrooves[1].rate}},
		{prefix: "FR", role: "work", stands: barFinishing, grade: "chilled-finishing", newMM: 340, scrapMM: 295, barrelMM: 650, spanMM: 950, neckMM: 180, massKG: 600,
			hardness: 76, price: 540_000, sets: 14 * spares, life: [2]float64{0.05, 0.45}, onOrder: 2, every: 7, coolH: 8, grindMin: 150, stock: 1.5, spread: 0.1, mishap: 0.02, ra: 1.6, raSpread: 0.2, purpose: "redress",
			grooves: grooving{count: 4, depthMM: barGrooves[2].depthMM, limitT: barGrooves[2].limitT, rate: barGrooves[2].rate}},
	}
}

// barStands lists the 18 stands in rolling order.
func barStands() []string {
	return append(append(append([]string{}, barRoughing...), barIntermediate...), barFinishing...)
}

func setUpBar(s *shop, at time.Time) {
	s.post(at, "/v1/mills", object{"name": barMill, "kind": "bar", "title": "Bar mill of an invented works", "density_kg_per_m3": density})
	s.postAll(at, "/v1/grades", []object{
		{"name": "steel-roughing", "family": "cast_steel", "title": "Cast alloy steel, roughing", "elastic_modulus_mpa": 206000, "poisson_ratio": 0.3, "allowable_stress_mpa": 120},
		{"name": "nodular-bainitic", "family": "nodular_iron", "title": "Bainitic nodular iron, intermediate", "elastic_modulus_mpa": 172000, "poisson_ratio": 0.28, "allowable_stress_mpa": 90},
		{"name": "chilled-finishing", "family": "chilled_iron", "title": "Chilled iron, finishing", "elastic_modulus_mpa": 170000, "poisson_ratio": 0.28, "allowable_stress_mpa": 70},
	})
	sections := barSections()
	for i, name := range barStands() {
		group := i / 6
		d := []float64{560, 430, 340}[group]
		scrap := []float64{490, 375, 295}[group]
		deep := barGrooves[group].depthMM
		// The range holds the usual speeds at the bottom of the groove, new and at
		// the scrap diameter.
		v := barExitMPS(i, sections)
		stand := object{"name": name, "mill": barMill, "order": i + 1, "arrangement": "two_high",
			"max_force_kn": []int{1500, 700, 320}[group], "min_rpm": math.Floor(60 * v / (math.Pi * (d - 2*deep) / 1000) * 0.5), "max_rpm": math.Ceil(60 * v / (math.Pi * (scrap - 2*deep) / 1000) * 1.1),
			"reference_work_diameter_mm": d, "min_stack_mm": 2 * scrap, "max_stack_mm": 2*d + 4}
		if i%2 == 1 {
			stand["orientation"] = "vertical"
		}
		s.post(at, "/v1/stands", stand)
	}
	values := func(group int, stock, tolerance float64, hardness, price int) object {
		return object{"neck_fillet_radius_mm": []int{45, 35, 28}[group], "max_groove_t": barGrooves[group].limitT, "groove_wear_um_per_kt": barGrooves[group].rate, "redress_margin_um": []int{3000, 2000, 1500}[group], "normal_stock_mm": stock, "max_plausible_stock_mm": 15, "pair_tolerance_um": tolerance, "gauge_uncertainty_um": 50,
			"taper_tolerance_um": 40, "runout_tolerance_um": 30, "crown_tolerance_um": 200,
			"hardness_min_shore_c": hardness, "grind_min": 200, "cooling_h": 8, "assembly_min": 60, "change_min": 20, "roll_price": price}
	}
	s.postAll(at, "/v1/practices", []object{
		practiceOf(barMill, "works", "", "", "", object{"grinders": 2, "stop_cost": 240000, "planned_stop_cost": 20000, "change_cost": 40000, "delivery_days": 150}),
		practiceOf(barMill, "roughing-work", "", "work", "steel-roughing", values(0, 4, 300, 38, 900000)),
		practiceOf(barMill, "intermediate-work", "", "work", "nodular-bainitic", values(1, 2.6, 200, 55, 620000)),
		practiceOf(barMill, "finishing-work", "", "work", "chilled-finishing", values(2, 2, 100, 70, 540000)),
	})
}

// section is the bar behind a stand as a rectangle of the same area: ovals and
// rounds have no thickness times width of their own.
type section struct{ high, wide float64 }

// barSections run from a billet 5 in square to a round of 5/8 in, with the same
// elongation at every stand.
func barSections() []section {
	billet, round := 5*inch*5*inch, math.Pi/4*0.625*inch*0.625*inch
	list := make([]section, 18)
	for i := range list {
		area := billet * math.Pow(round/billet, float64(i+1)/18)
		flat := 1.35 // ovals
		if i%2 == 1 {
			flat = 1
		}
		high := math.Sqrt(area / flat)
		list[i] = section{high, high * flat}
	}
	return list
}

// barExitMPS is the speed behind stand i when the last one gives 40 mph.
func barExitMPS(i int, s []section) float64 {
	last := s[len(s)-1]
	return 40 * mph * last.high * last.wide / (s[i].high * s[i].wide)
}

func barProgramme(rng *rand.Rand, name string, n int) []piece {
	sections := barSections()
	var pieces []piece
	for i := range n {
		hard := 1 + 0.12*float64(i%2)
		p := piece{ID: fmt.Sprintf("%s-%03d", name, i+1), Material: []string{"reinforcing", "engineering"}[i%2], Block: []string{"a", "b", "c"}[3*i/n],
			MassT: round(1.52+0.01*rng.NormFloat64(), 3), WidthMM: round(5*inch, 1), EntryMM: round(5*inch, 1)}
		in := section{5 * inch, 5 * inch}
		off := math.Exp(0.03 * rng.NormFloat64())
		for k, stand := range barStands() {
			s := sections[k]
			// The bar is turned on its side before every stand.
			entry := math.Max(in.wide, s.high*1.02)
			force := hard * off * []float64{0.075, 0.11, 0.15}[k/6] * math.Sqrt([]float64{270, 205, 160}[k/6]*(entry-s.high)) * s.wide
			p.Passes = append(p.Passes, pass{Stand: stand, EntryMM: round(entry, 2), ExitMM: round(s.high, 2), WidthMM: round(s.wide, 2),
				ForceKN: math.Round(force), SpeedMPS: round(barExitMPS(k, sections), 2), TempC: 1080 - 8*float64(k)})
			in = s
		}
		pieces = append(pieces, p)
	}
	return pieces
}
