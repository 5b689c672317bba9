package wear_test

import (
	"math"
	"testing"

	"barrelbook/domain/wear"
)

func near(got, want, rel float64) bool { return math.Abs(got-want) <= rel*math.Abs(want) }

// Source of the figures: derived from the formulas by an independent program.
func TestRolledLengthAndRevolutions(t *testing.T) {
	km, err := wear.RolledKM(3000, 1250, 3.0, 7850)
	if err != nil || !near(km, 101.91083, 1e-7) {
		t.Fatalf("3000 t of 1250 x 3.0 mm at 7850: got %v km, %v, want 101.91083", km, err)
	}
	for _, row := range []struct{ diameter, want float64 }{{700, 46341.75}, {1500, 21626.15}} {
		n, err := wear.Revolutions(km, row.diameter)
		if err != nil || !near(n, row.want, 1e-6) {
			t.Errorf("%v km at D %v: got %v revolutions, %v, want %v", km, row.diameter, n, err, row.want)
		}
	}
}

// By hand: 1000 t of 1250 mm at 7850 kg/m³ is 34 km at 3 mm and 4 km at 25 mm
// (common practice's own example of why tonnes are not kilometres).
func TestAThousandTonnesIsNotOneLength(t *testing.T) {
	for _, row := range []struct{ thickness, want float64 }{{3, 33.97}, {25, 4.076}} {
		km, err := wear.RolledKM(1000, 1250, row.thickness, 7850)
		if err != nil || !near(km, row.want, 1e-3) {
			t.Errorf("1 kt at %v mm: got %v km, %v, want %v", row.thickness, km, err, row.want)
		}
	}
}

func TestExposure(t *testing.T) {
	for _, row := range []struct{ km, q, a, want float64 }{
		{100, 10, 0, 100}, {100, 15, 0, 150}, {100, 15, 1, 150}, {100, 40, 0.5, 200}, {0, 15, 0, 0}, {5, 0, 0, 0},
	} {
		x, err := wear.Exposure(row.km, row.q, row.a)
		if err != nil || !near(x, row.want, 1e-14) {
			t.Errorf("Exposure(%v, %v, %v) = %v, %v, want %v", row.km, row.q, row.a, x, err, row.want)
		}
	}
}

func TestRolledRefuses(t *testing.T) {
	nan, inf := math.NaN(), math.Inf(1)
	for _, bad := range [][4]float64{{0, 1250, 3, 7850}, {3000, -1, 3, 7850}, {3000, 1250, nan, 7850}, {3000, 1250, 3, inf}, {1e300, 1e-300, 1e-300, 1}} {
		if km, err := wear.RolledKM(bad[0], bad[1], bad[2], bad[3]); err == nil || km != 0 {
			t.Errorf("RolledKM(%v) = %v, %v, want a refusal", bad, km, err)
		}
	}
	if n, err := wear.Revolutions(1e305, 1e-10); err == nil || n != 0 {
		t.Errorf("Revolutions beyond any number: got %v, %v", n, err)
	}
	if x, err := wear.Exposure(1, 1, 3); err == nil || x != 0 {
		t.Errorf("Exposure with exponent 3: got %v, %v", x, err)
	}
	if x, err := wear.Exposure(1e200, 1e200, 1); err == nil || x != 0 {
		t.Errorf("Exposure beyond any number: got %v, %v", x, err)
	}
}
