package rollforce_test

import (
	"math"
	"testing"

	"barrelbook/domain/refusal"
	"barrelbook/domain/rollforce"
)

// Roark, stress concentration, stepped round shaft (published text seen, to the
// digits given): barrel, neck, radius and the two factors.
func TestRoarkFilletsOfNecks(t *testing.T) {
	for _, row := range []struct{ barrel, neck, radius, bending, torsion float64 }{
		{700, 480, 50, 1.702, 1.36},
		{700, 480, 25, 2.11, 1.62},
		{1500, 950, 120, 1.63, 1.31},
		{330, 180, 10, 2.15, 1.72},
	} {
		bending, torsion, fitted, err := rollforce.Fillet(row.barrel, row.neck, row.radius)
		if err != nil || !fitted {
			t.Fatal(err, fitted)
		}
		near(t, "bending", bending, row.bending, 1.5e-3)
		near(t, "torsion", torsion, row.torsion, 5e-3)
	}
}

// Gere and Timoshenko, stepped shaft in torsion, example 3.11-3 (published text
// seen): 500 lb·in, 1 in stepped to d with a full quarter circle, K read off a
// chart. The stress is printed as 8,900, 6,400 and 4,900 psi.
func TestGereSteppedShaftInTorsion(t *testing.T) {
	const psi = 0.006894757293168361 // MPa
	const inch, lb = 25.4, 4.4482216152605
	for _, row := range []struct{ d, k, psi, printed float64 }{{0.7, 1.20, 8909, 8900}, {0.8, 1.29, 6416, 6400}, {0.9, 1.41, 4925, 4900}} {
		_, k, _, err := rollforce.Fillet(1, row.d, (1-row.d)/2)
		if err != nil {
			t.Fatal(err)
		}
		near(t, "factor against the chart", k, row.k, 1e-2)
		body := rollforce.Body{BarrelDiameterMM: 1 * inch, BarrelLengthMM: 10 * inch, NeckDiameterMM: row.d * inch, BearingSpanMM: 12 * inch, FilletBendingFactor: 1, FilletTorsionFactor: row.k}
		s, err := rollforce.TwoHighStrength(body, rollforce.Load{WidthMM: inch, TorqueNM: 500 * lb * inch / 1000}, rollforce.Allowable{BarrelMPa: 100, NeckMPa: 100})
		if err != nil {
			t.Fatal(err)
		}
		near(t, "stress, psi", s.NeckTorsionMPa/psi, row.psi, 1e-4)
		near(t, "stress as printed, psi", s.NeckTorsionMPa/psi, row.printed, 6e-3)
	}
}

// A sharper fillet is never the better one, and no fillet is below the nominal
// stress.
func TestFilletFallsWithItsRadius(t *testing.T) {
	for _, neck := range []float64{0.5, 0.6, 0.7, 0.8, 0.9, 0.98} {
		lastB, lastT := math.Inf(1), math.Inf(1)
		for r := 0.005; r < 0.25; r *= 1.1 {
			b, k, fitted, err := rollforce.Fillet(1000, 1000*neck, 1000*r)
			if err != nil || b < 1 || k < 1 {
				t.Fatalf("neck %g radius %g: %g %g %v", neck, r, b, k, err)
			}
			if !fitted {
				continue
			}
			// The two branches in bending meet to 1 %.
			if b > lastB*1.01 || k > lastT*1.001 {
				t.Errorf("neck %g radius %g: %g after %g, %g after %g", neck, r, b, lastB, k, lastT)
			}
			lastB, lastT = b, k
		}
	}
	if b, k, fitted, err := rollforce.Fillet(500, 500, 10); b != 1 || k != 1 || !fitted || err != nil {
		t.Error("no step, no concentration:", b, k, fitted, err)
	}
	for path, in := range map[string][3]float64{"neck_diameter_mm": {500, 600, 10}, "neck_fillet_radius_mm": {500, 400, 0}, "diameter_mm": {math.NaN(), 400, 10}} {
		_, _, _, err := rollforce.Fillet(in[0], in[1], in[2])
		if fields := refusal.FieldsOf(err); len(fields) == 0 || fields[0].Path != path {
			t.Errorf("%v: want a refusal of %s, got %v", in, path, err)
		}
	}
}
