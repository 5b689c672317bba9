package rest_test

import (
	"encoding/json"
	"math"
	"strings"
	"testing"

	"barrelbook/api/app/port"
)

// TestCalculations sends one case of each model whose answer is known, each
// with its source, and looks at the figures through the wire.
func TestCalculations(t *testing.T) {
	s := openFile(t)
	for _, one := range []struct {
		model, body string
		want        map[string]float64
		tolerance   float64
	}{
		// Derived by an independent program: 700/1500 mm, 18 MN over 1700 mm, E 206 GPa, ν 0.3; ln 2 − 1/2 is the default.
		{"contact", `{"work":{"diameter_mm":700,"elastic_modulus_mpa":206000,"poisson_ratio":0.3},"backup":{"diameter_mm":1500,"elastic_modulus_mpa":206000,"poisson_ratio":0.3},"line_load_n_per_mm":10588.235294117647}`,
			map[string]float64{"half_width_mm": 5.33135, "peak_pressure_mpa": 1264.348, "max_shear_mpa": 379.7, "approach_mm": 0.324668, "approach_constant": 0.1931471805599453}, 1e-4},
		// The same with Föppl's constant 1/3.
		{"contact", `{"work":{"diameter_mm":700,"elastic_modulus_mpa":206000,"poisson_ratio":0.3},"backup":{"diameter_mm":1500,"elastic_modulus_mpa":206000,"poisson_ratio":0.3},"line_load_n_per_mm":10588.235294117647,"approach_constant":0.3333333333333333}`,
			map[string]float64{"approach_mm": 0.333016}, 1e-4},
		// Derived by two independent programs: 700/1500 mm, barrels 1700, bearings ±1350 of constant diameter, 18 MN over 1250 mm, no crown; centre/mean 1.0744.
		{"roll-load", `{"work":{"diameter_mm":700,"elastic_modulus_mpa":206000,"poisson_ratio":0.3,"barrel_length_mm":1700,"bearing_span_mm":2700,"neck_diameter_mm":700},"backup":{"diameter_mm":1500,"elastic_modulus_mpa":206000,"poisson_ratio":0.3,"barrel_length_mm":1700,"bearing_span_mm":2700,"neck_diameter_mm":1500},"strip_load":{"x_mm":[-625,625],"n_per_mm":[14400,14400]},"approach_constant":0.1931471805599453}`,
			map[string]float64{"mean_line_load_n_per_mm": 10588.235, "max_line_load_n_per_mm": 10588.235 * 1.0744, "max_line_load_x_mm": 0}, 2e-3},
		// The review of the models: a roll shifted 100 mm that still covers its backup roll presses both ends with 8,573 N/mm, Föppl's constant.
		{"roll-load", `{"work":{"diameter_mm":700,"elastic_modulus_mpa":206000,"poisson_ratio":0.3,"barrel_length_mm":1900,"bearing_span_mm":2700,"neck_diameter_mm":700,"axial_offset_mm":-100},"backup":{"diameter_mm":1500,"elastic_modulus_mpa":206000,"poisson_ratio":0.3,"barrel_length_mm":1700,"bearing_span_mm":2700,"neck_diameter_mm":1500},"strip_load":{"x_mm":[-500,500],"n_per_mm":[18000,18000]},"approach_constant":0.3333333333333333}`,
			map[string]float64{"stations/line_load_n_per_mm/0": 8573, "mean_line_load_n_per_mm": 18e6 / 1700.0}, 1e-4},
		// Six-high: both contacts carry the strip and twice the bending in front of them, over the barrel they share.
		{"roll-load", `{"work":{"diameter_mm":430,"elastic_modulus_mpa":206000,"poisson_ratio":0.3,"barrel_length_mm":1500,"bearing_span_mm":2300,"neck_diameter_mm":260},"intermediate":{"diameter_mm":520,"elastic_modulus_mpa":206000,"poisson_ratio":0.3,"barrel_length_mm":1500,"bearing_span_mm":2400,"neck_diameter_mm":320,"axial_offset_mm":-180,"polynomial_um":[0,-200,0,300]},"backup":{"diameter_mm":1300,"elastic_modulus_mpa":206000,"poisson_ratio":0.3,"barrel_length_mm":1500,"bearing_span_mm":2500,"neck_diameter_mm":800},"strip_load":{"x_mm":[-500,500],"n_per_mm":[9000,9000]},"bending_force_n":200000,"intermediate_bending_force_n":250000}`,
			map[string]float64{"mean_line_load_n_per_mm": 9.4e6 / 1320, "backup_contact/mean_line_load_n_per_mm": 9.9e6 / 1320}, 1e-9},
		// Closed form of a shifted S-contour, a₃(2/L)³·3x²o with a₃ 400, L 2000, shift 100 (o −100), 585 mm from the middle: crown 41.067 µm. Without a force nothing bends.
		{"gap-profile", `{"work":{"diameter_mm":700,"elastic_modulus_mpa":206000,"poisson_ratio":0.3,"barrel_length_mm":2000,"bearing_span_mm":2900,"neck_diameter_mm":420,"polynomial_um":[0,-300,0,400]},"width_mm":1250,"work_roll_shift_mm":100}`,
			map[string]float64{"centre_to_edge_um": 400 * 8e-9 * 3 * 585 * 585 * 100 / 8, "parts/contour_um": 41.067, "edge_mm": 40, "edge_step_um": 0}, 1e-6},
		// Crossed cylinders: 1° and 700 mm over 1500 less twice 25 mm, B²·tan²θ/2D, to the approximation of the form.
		{"gap-profile", `{"work":{"diameter_mm":700,"elastic_modulus_mpa":206000,"poisson_ratio":0.3,"barrel_length_mm":2000,"bearing_span_mm":2900,"neck_diameter_mm":420},"width_mm":1500,"edge_mm":25,"pair_cross_deg":1}`, map[string]float64{"parts/cross_um": -1450 * 1450 * 3.046792e-4 / 1400 * 1000}, 1e-3},
		// Derived from the formulas: Sims, 20 to 14 mm on a radius of 400 mm, the force factor.
		{"roll-force", `{"method":"sims","entry_thickness_mm":20,"exit_thickness_mm":14,"diameter_mm":800,"width_mm":1000,"mean_flow_stress_mpa":150}`,
			map[string]float64{"force_factor": 1.487420, "neutral_angle_rad": 0.050493, "flattened_radius_mm": 400}, 1e-4},
		// Derived from Ekelund's formula: 20 to 14 mm, 1000 wide, radius 400, 1000 °C, 0.1 % C, 0.5 % Mn, 2 m/s.
		{"roll-force", `{"method":"ekelund","entry_thickness_mm":20,"exit_thickness_mm":14,"diameter_mm":800,"width_mm":1000,"temperature_c":1000,"carbon_pct":0.1,"manganese_pct":0.5,"speed_m_per_s":2,"roll_surface":"steel"}`,
			map[string]float64{"force_n": 8472187}, 1e-4},
		// Ekelund, published worked example: 40 to 30 mm, 200 wide, iron rolls of 280 mm, 1000 °C, 14 m/s, 1 % C, Mn and Cr: 21.181 kgf/mm².
		{"roll-force", `{"method":"ekelund","entry_thickness_mm":40,"exit_thickness_mm":30,"diameter_mm":280,"width_mm":200,"temperature_c":1000,"carbon_pct":1,"manganese_pct":1,"chromium_pct":1,"speed_m_per_s":14,"roll_surface":"iron"}`,
			map[string]float64{"force_n": 1554403, "mean_pressure_mpa": 21.181 * 9.80665}, 1e-4},
		// Groover (from memory, the book rounds): 25 to 22 mm, 300 wide, radius 250, 50 rpm, K 275 MPa, n 0.15: the force taken as measured.
		{"roll-force", `{"method":"measured","entry_thickness_mm":25,"exit_thickness_mm":22,"diameter_mm":500,"width_mm":300,"measured_force_n":1444254,"speed_m_per_s":1.3089969}`,
			map[string]float64{"torque_nm": 19786, "power_kw": 207.201}, 2e-3},
		// Dieter (from memory): slab 40 mm, 30 %, radius 450, 760 wide, friction 0.3, plane-strain flow stress 170 MPa.
		{"roll-force", `{"method":"slipping","entry_thickness_mm":40,"exit_thickness_mm":28,"diameter_mm":900,"width_mm":760,"mean_flow_stress_mpa":147.2243,"friction":0.3}`, map[string]float64{"force_n": 13.4e6}, 5e-3},
		{"roll-force", `{"method":"sticking","entry_thickness_mm":40,"exit_thickness_mm":28,"diameter_mm":900,"width_mm":760,"mean_flow_stress_mpa":147.2243}`, map[string]float64{"force_n": 14.6e6}, 5e-3},
		// Bland and Ford, derived by an independent program that sums 200,000 slices: per mm of width, with tensions; Hill's fit lies within 3 % without them.
		{"roll-force", `{"method":"bland-ford","entry_thickness_mm":2,"exit_thickness_mm":1.4,"diameter_mm":500,"width_mm":1,"mean_flow_stress_mpa":600,"friction":0.07,"entry_tension_mpa":100,"exit_tension_mpa":150}`,
			map[string]float64{"force_n": 8437.942658}, 1e-8},
		{"roll-force", `{"method":"hill","entry_thickness_mm":2,"exit_thickness_mm":1.4,"diameter_mm":500,"width_mm":1,"mean_flow_stress_mpa":600,"friction":0.07}`,
			map[string]float64{"force_n": 10145.125904}, 3e-2},
		// Derived: radius 350 mm, k 30, ρc 3.8e6, h 20: time constant 35 226 s; 12e-6/K on 700 mm from 60 to 20 °C is 336 µm at the start.
		{"cooling", `{"diameter_mm":700,"conductivity_w_per_mk":30,"density_kg_per_m3":7600,"specific_heat_j_per_kgk":500,"surface_coefficient_w_per_m2k":20,"expansion_per_k":12e-6,"start_c":60,"ambient_c":20,"minutes":[0]}`,
			map[string]float64{"time_constant_min": 35226.0 / 60, "diameter_change_um/0": 336, "mean_c/0": 60}, 1e-4},
		// NIST/SEMATECH e-Handbook, Weibull with ten units censored at 500.
		{"weibull", weibullOfTheHandbook(), map[string]float64{"shape": 1.7208, "scale": 606.528, "log_likelihood": -75.135, "survival/0": 1}, 1e-4},
		// By hand: the limit of 10 takes five pieces of 2, the stop and the change cost 5 and 1.
		{"change-plan", `{"pieces":6,"stop_cost":5,"stands":[{"name":"F1","limit":10,"change_cost":1,"usage":[2,2,2,2,2,2]}]}`, map[string]float64{"cost": 6, "gap": 0}, 1e-12},
		// By hand: 200 µm over an exposure of 20 km · 10/10 is 10 µm/km for both rolls, without scatter.
		{"wear-rate", `{"campaigns":[` + strings.Repeat(`{"roll":"A","grade":"g","stand":"F1","rolled_km":20,"specific_force_kn_per_mm":10,"wear_um":200},`, 8) + strings.Repeat(`{"roll":"B","grade":"g","stand":"F1","rolled_km":20,"specific_force_kn_per_mm":10,"wear_um":200},`, 7) +
			`{"roll":"B","grade":"g","stand":"F1","rolled_km":20,"specific_force_kn_per_mm":10,"wear_um":200}],"predict":[{"roll":"A","rolled_km":30,"specific_force_kn_per_mm":12}]}`,
			map[string]float64{"cells/0/rate_um_per_km": 10, "rolls/1/rate_um_per_km": 10, "predictions/0/wear_um": 360}, 5e-3},
		// By hand: 32.4 mm at exactly 0.45 mm a campaign is 72 whole grinds, and one campaign more ends the roll.
		{"roll-life", `{"stock_mm":32.4,"wear":{"mean_mm":0.45,"cv":0},"tonnes":{"mean_t":1000,"cv":0}}`,
			map[string]float64{"campaigns/p10": 73, "campaigns/p90": 73, "campaigns/mean": 73, "tonnes/mean": 73000}, 1e-12},
	} {
		t.Run(one.model, func(t *testing.T) {
			inner := *s
			inner.t = t
			w := inner.take(step{name: one.model, as: port.Viewer, do: "POST /v1/calculations/" + one.model, body: one.body, status: 200, want: `{"model":"~` + one.model + ` 1"}`})
			var got any
			if err := json.Unmarshal(w.Body.Bytes(), &got); err != nil {
				t.Fatal(err)
			}
			for path, want := range one.want {
				value := at(got, path)
				if math.Abs(value-want) > one.tolerance*math.Max(math.Abs(want), 1e-9) || math.IsNaN(value) {
					t.Errorf("%s is %v, want %v\n%s", path, value, want, shortened(w.Body.String()))
				}
			}
		})
	}
}

func at(value any, path string) float64 {
	for _, part := range strings.Split(path, "/") {
		switch v := value.(type) {
		case map[string]any:
			value = v[part]
		case []any:
			value = v[0] // the paths of these tests look at the first only
		}
	}
	if number, ok := value.(float64); ok {
		return number
	}
	return math.NaN()
}

func weibullOfTheHandbook() string {
	var list []string
	for _, failure := range []string{"54", "187", "216", "240", "244", "335", "361", "373", "375", "386"} {
		list = append(list, `{"value":`+failure+`,"failed":true}`)
	}
	for range 10 {
		list = append(list, `{"value":500,"failed":false}`)
	}
	return `{"observations":[` + strings.Join(list, ",") + `],"survival_at":[{"age":300,"further":0}]}`
}

// TestInfeasiblePlanIsAnAnswer: a piece that no fresh set can roll is named.
func TestInfeasiblePlanIsAnAnswer(t *testing.T) {
	openFile(t).take(step{name: "infeasible", as: port.Viewer, do: "POST /v1/calculations/change-plan", body: `{"pieces":2,"stop_cost":1,"stands":[{"name":"F1","limit":3,"usage":[1,4]}]}`,
		status: 200, want: `{"feasible":false,"stops":[],"infeasible":{"stand":"F1","piece":1}}`})
}
