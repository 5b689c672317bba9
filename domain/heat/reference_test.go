package heat

import (
	"math"
	"testing"

	"barrelbook/domain/quantity"
)

func near(t *testing.T, what string, got, want, absolute float64) {
	t.Helper()
	if !(math.Abs(got-want) <= absolute) {
		t.Errorf("%s: got %.10g, want %.10g within %g", what, got, want, absolute)
	}
}

// Incropera, Fundamentals of Heat and Mass Transfer, table of cylinder roots
// (quoted from memory, to five decimals).
func TestIncroperaCylinderRoots(t *testing.T) {
	for _, row := range []struct {
		name     string
		bi, z, c float64
	}{
		{"Bi 0.1", 0.1, 0.44168, 1.02458},
		{"Bi 1", 1, 1.25578, 1.20709},
		{"Bi 10", 10, 2.17950, 1.56769},
		{"Bi 0.5", 0.5, 0.94077, 1.11425},
	} {
		t.Run(row.name, func(t *testing.T) {
			z := root(1, row.bi)
			c, _, _ := coefficient(z, row.bi)
			near(t, "first root", z, row.z, 1e-5)
			near(t, "first coefficient", c, row.c, 1e-5)
		})
	}
}

// Derived by an independent program: Bi 1, Fo 0.5.
func TestCylinderAtBiotOneFourierHalf(t *testing.T) {
	s := series{bi: 1}
	p := s.at(0.5)
	near(t, "centre", p.centre, 0.54859, 1e-5)
	near(t, "surface", p.surface, 0.35279, 1e-5)
	near(t, "mean", p.mean, 0.44738, 1e-5)
}

// Incropera, one-term table (quoted from memory): Bi 0.5, Fo 1.
func TestCylinderAtBiotHalfFourierOne(t *testing.T) {
	s := series{bi: 0.5}
	p := s.at(1)
	near(t, "centre", p.centre, 0.459846, 1e-6)
	near(t, "surface", p.surface, 0.363591, 1e-6)
	near(t, "mean", p.mean, 0.410815, 1e-6)
}

// Çengel, Heat Transfer, transient conduction: problem 4-60 (published text seen)
// and the long shaft of the chapter's example (quoted from memory, to whole
// degrees in the book). The first two columns are the one-term figures printed,
// the exact temperatures those of the whole series.
func TestCengelCylinders(t *testing.T) {
	for _, row := range []struct {
		name                     string
		c                        Cylinder
		minutes                  float64
		z, a                     float64
		oneTermCentre            float64
		centre, surface, mean    float64
		exactWithin, oneTermNear float64
	}{
		{"problem 4-60", Cylinder{DiameterMM: 350, ConductivityWPerMK: 14.9, DensityKgPerM3: 7900, SpecificHeatJPerKgK: 477,
			SurfaceCoefficientWPerM2K: 60, StartC: 400, AmbientC: 150}, 20, 1.0903, 1.1548, 390, 385.699, 325.662, 356.328, 1e-3, 0.6},
		{"long shaft", Cylinder{DiameterMM: 200, ConductivityWPerMK: 14.9, DensityKgPerM3: 7900, SpecificHeatJPerKgK: 477,
			SurfaceCoefficientWPerM2K: 80, StartC: 600, AmbientC: 200}, 45, 0.9706, 1.1218, 364.129, 0, 0, 0, 0, 1e-3},
	} {
		t.Run(row.name, func(t *testing.T) {
			z := root(1, row.c.Biot())
			a, _, _ := coefficient(z, row.c.Biot())
			near(t, "root", z, row.z, 2e-4)
			near(t, "coefficient", a, row.a, 1e-4)
			one := row.c.AmbientC + (row.c.StartC-row.c.AmbientC)*a*math.Exp(-z*z*row.c.fourierPerMin()*row.minutes)
			near(t, "one term, °C", one, row.oneTermCentre, row.oneTermNear)
			if row.exactWithin == 0 {
				return
			}
			got, err := Cool(row.c, []float64{row.minutes})
			if err != nil {
				t.Fatal(err)
			}
			near(t, "centre, °C", got.CentreC[0], row.centre, row.exactWithin)
			near(t, "surface, °C", got.SurfaceC[0], row.surface, row.exactWithin)
			near(t, "mean, °C", got.MeanC[0], row.mean, row.exactWithin)
		})
	}
}

// Derived by an independent program: radius 350 mm, k 30 W/mK, ρc 3.8e6
// J/m³K; the printed seconds are whole.
func TestTimeConstants(t *testing.T) {
	for _, row := range []struct {
		name       string
		h, seconds float64
	}{
		{"still air, 20 W/m²K", 20, 35226},
		{"fan, 100 W/m²K", 100, 8751},
		{"mist, 1000 W/m²K", 1000, 3178},
	} {
		t.Run(row.name, func(t *testing.T) {
			c := workRoll()
			c.SurfaceCoefficientWPerM2K = row.h
			got, err := Cool(c, nil)
			if err != nil {
				t.Fatal(err)
			}
			near(t, "time constant, s", got.TimeConstantMin*60, row.seconds, 0.5)
		})
	}
}

// workRoll is a hot strip work roll as it comes out: 700 mm, ρc 3.8e6.
func workRoll() Cylinder {
	return Cylinder{DiameterMM: 700, ConductivityWPerMK: 30, DensityKgPerM3: 7600, SpecificHeatJPerKgK: 500,
		SurfaceCoefficientWPerM2K: 20, ExpansionPerK: 12e-6, StartC: 65, AmbientC: 20}
}

// 12e-6 per K on 700 mm is 8.4 µm per K (derived by an independent program).
func TestSteelRollGrowsBy8p4MicrometresPerKelvin(t *testing.T) {
	c := workRoll()
	c.StartC = 21
	got, err := Cool(c, []float64{0})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "diameter change, µm", got.DiameterChangeUM[0], 8.4, 1e-9)
	// In the book's whole micrometres it shows over ten kelvin: 84 µm.
	cold, err := ColdDiameter(700_084, 12e-6, 30, 20)
	if err != nil || cold != 700_000 {
		t.Errorf("700.084 mm at 30 °C: got %v (%v), want 700.000 mm at 20 °C", cold, err)
	}
	warmer, err := ColdDiameter(quantity.Micrometre(699_916), 12e-6, 10, 20)
	if err != nil || warmer != 700_000 {
		t.Errorf("699.916 mm at 10 °C: got %v (%v), want 700.000 mm at 20 °C", warmer, err)
	}
}

// Common practice, no source: in still air a work roll comes within 5 K of
// the shop in 12 to 24 hours, with a fan or mist in 2 to 6.
func TestCoolingTimesOfThePractice(t *testing.T) {
	for _, row := range []struct {
		name      string
		h         float64
		low, high float64
	}{
		{"still air", 20, 12, 24},
		{"fan", 100, 2, 6},
		{"mist", 300, 2, 6},
	} {
		t.Run(row.name, func(t *testing.T) {
			c := workRoll()
			c.SurfaceCoefficientWPerM2K = row.h
			minutes, err := MinutesUntil(c, Mean, 5)
			if err != nil {
				t.Fatal(err)
			}
			if hours := minutes / 60; hours < row.low || hours > row.high {
				t.Errorf("%.1f h, want %g to %g", hours, row.low, row.high)
			}
		})
	}
}
