package standgeometry_test

import (
	"math"
	"strconv"
	"testing"

	"barrelbook/domain/quantity"
	"barrelbook/domain/standgeometry"
)

const metre = 1_000_000 // in micrometres

func near(t *testing.T, what string, got, want, relative float64) {
	t.Helper()
	if !(math.Abs(got-want) <= relative*math.Abs(want)) {
		t.Errorf("%s: got %.9g, want %.9g within %g", what, got, want, relative)
	}
}

// must unwraps a value that the test knows to be good.
func must[T any](t *testing.T) func(T, error) T {
	return func(v T, err error) T {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
		return v
	}
}

// Derived by an independent program: 3000 t of 1250 × 3.0 mm at 7850 kg/m³.
func TestRolledLengthAndRevolutions(t *testing.T) {
	ok := must[float64](t)
	length := ok(standgeometry.RolledLengthM(3000, 7850, 1250, 3))
	near(t, "km", length/1000, 101.91083, 1e-7)
	near(t, "revolutions of the work roll, 700 mm", ok(standgeometry.Revolutions(length, 700)), 46341.75, 1e-6)
	near(t, "revolutions of the backup roll, 1500 mm", ok(standgeometry.Revolutions(length, 1500)), 21626.15, 1e-6)
}

// Derived by an independent program: 1 kt of 1250 mm strip is 34 km at 3 mm
// and 4 km at 25 mm.
func TestTheSameTonnesRollEightTimesAsFarAtTheEndOfTheTrain(t *testing.T) {
	ok := must[float64](t)
	thin, thick := ok(standgeometry.RolledLengthM(1000, 7850, 1250, 3)), ok(standgeometry.RolledLengthM(1000, 7850, 1250, 25))
	near(t, "km at 3 mm", thin/1000, 34, 0.01)
	near(t, "km at 25 mm", thick/1000, 4.08, 0.01)
}

// Derived by an independent program: 700 to 699.5 mm over 1.78 m at 7600
// kg/m³, and the whole barrel of 700 × 1780 mm.
func TestRemovedMass(t *testing.T) {
	ok := must[float64](t)
	near(t, "removed, kg", ok(standgeometry.RemovedMassKG(700_000, 699_500, 1_780_000, 7600)), 7.43475, 1e-6)
	near(t, "barrel, kg", ok(standgeometry.BarrelMassKG(700_000, 1_780_000, 7600)), 5206.18, 1e-6)
}

// Derived by an independent program: (712.4 − 680.0)/0.45 is 72 grinds
// exactly; in binary fractions it is 71.
func TestSeventyTwoGrindsAreSeventyTwo(t *testing.T) {
	now, scrap, stock := 712.4, 680.0, 0.45
	if int((now-scrap)/stock) != 71 {
		t.Error("binary fractions no longer lose a grind: the trap this test guards has moved")
	}
	if got := must[int64](t)(standgeometry.RegrindsLeft(712_400, 680_000, 450)); got != 72 {
		t.Errorf("got %d grinds, want 72", got)
	}
}

// Derived by an independent program: reference 1500/700 mm, now 1420/650 mm.
func TestPassLineShim(t *testing.T) {
	if got := must[float64](t)(standgeometry.PassLineShimMM(1_500_000, 1_420_000, 700_000, 650_000)); got != 90 {
		t.Errorf("got %g mm, want 90 mm", got)
	}
}

// Derived by an independent program: a seven-stand train, the last at 10 m/s.
func TestSpeedsThroughSevenStands(t *testing.T) {
	train := sevenStands()
	got := must[standgeometry.TrainSpeed](t)(standgeometry.Speeds(train, 10))
	for i, want := range []float64{1.13333, 1.88889, 2.95652, 4.47368, 6.29630, 8.29268, 10} {
		near(t, "strip speed after "+train[i].Name, got.Stands[i].StripMPerS, want, 5e-6)
	}
}

// Derived by an independent program: 9.5 m/s on 680 and 760 mm.
func TestRollSpeedAtActualDiameters(t *testing.T) {
	near(t, "rpm at 680 mm", standgeometry.RPM(9.5, 680), 266.8186, 1e-6)
	near(t, "rpm at 760 mm", standgeometry.RPM(9.5, 760), 238.7324, 1e-6)
}

func sevenStands() []standgeometry.Stand {
	var train []standgeometry.Stand
	for i, h := range []float64{30, 18, 11.5, 7.6, 5.4, 4.1, 3.4} {
		train = append(train, standgeometry.Stand{Name: "F" + strconv.Itoa(i+1), ExitThicknessMM: h, DiameterMM: 720,
			MinRPM: 10, MaxRPM: 300})
	}
	return train
}

// Common practice with no source: 40 mph is 17.88 m/s, as the exit speed of a
// bar mill with 18 stands and of a hot strip train with six. A mile is
// 1609.344 m by definition.
func TestFortyMilesAnHourThroughATrain(t *testing.T) {
	const mph = 1609.344 / 3600
	near(t, "m/s", 40*mph, 17.88, 1e-4)
	got := must[standgeometry.TrainSpeed](t)(standgeometry.Speeds(sevenStands()[1:], 40*mph))
	near(t, "rpm of the last stand", got.Stands[5].RPM, 60*17.8816/(math.Pi*0.72), 1e-9)
	// A bar mill: 18 stands from a 160 mm square to a 20 mm round, areas in
	// place of thicknesses, every stand taking the same share.
	var bar []standgeometry.Stand
	billet, rod := 160.0*160, math.Pi/4*20*20
	for i := 1; i <= 18; i++ {
		bar = append(bar, standgeometry.Stand{Name: strconv.Itoa(i), ExitThicknessMM: billet * math.Pow(rod/billet, float64(i)/18),
			DiameterMM: 400, MaxRPM: 2000})
	}
	got = must[standgeometry.TrainSpeed](t)(standgeometry.Speeds(bar, 40*mph))
	if entry := got.Stands[0].StripMPerS * bar[0].ExitThicknessMM / billet; entry < 0.1 || entry > 0.5 {
		t.Errorf("the billet enters at %.3g m/s, want between 0.1 and 0.5", entry)
	}
}

// Common practice with no source: a bloom 7 in square and about 40 ft long
// comes from an ingot 26 in square in up to 15 passes. The ingot's mass is the
// bloom's; each pass then takes less than a quarter of the area.
func TestFortyFootBloomConservesItsIngotsMass(t *testing.T) {
	ok := must[float64](t)
	const inch, foot = 25.4, 0.3048
	mass := 7850 * (7 * inch / 1000) * (7 * inch / 1000) * 40 * foot / 1000
	near(t, "bloom, ft", ok(standgeometry.RolledLengthM(mass, 7850, 7*inch, 7*inch))/foot, 40, 1e-12)
	ingot := ok(standgeometry.RolledLengthM(mass, 7850, 26*inch, 26*inch))
	near(t, "ingot, ft", ingot/foot, 40*49.0/676, 1e-12)
	if perPass := 1 - math.Pow(49.0/676, 1.0/15); perPass > 0.25 {
		t.Errorf("15 passes would take %.0f %% of the area each", 100*perPass)
	}
}

// Common practice with no source: a slab 9 in thick is rolled to plate from 2
// to 0.1 in thick. The length grows as the thickness falls.
func TestSlabToPlateLengths(t *testing.T) {
	ok := must[float64](t)
	const inch = 25.4
	slab := ok(standgeometry.RolledLengthM(10, 7850, 2000, 9*inch))
	near(t, "2 in plate over slab", ok(standgeometry.RolledLengthM(10, 7850, 2000, 2*inch))/slab, 4.5, 1e-12)
	near(t, "0.1 in plate over slab", ok(standgeometry.RolledLengthM(10, 7850, 2000, 0.1*inch))/slab, 90, 1e-12)
}

// Half a millimetre off each roll of a pair that rolled 2 kt together: the
// losses add, the tonnes do not.
func TestConsumptionCountsBothRolls(t *testing.T) {
	ok := must[float64](t)
	removed := ok(standgeometry.RemovedMassKG(700_000, 699_500, 1.78*metre, 7600))
	one := must[standgeometry.Consumption](t)(standgeometry.Consume([]float64{removed}, []quantity.Micrometre{500}, 2000))
	two := must[standgeometry.Consumption](t)(standgeometry.Consume([]float64{removed, removed}, []quantity.Micrometre{500, 500}, 2000))
	near(t, "kg/t of one roll", one.KGPerT, 7.43475/2000, 1e-6)
	near(t, "kg/t of both", two.KGPerT, 2*one.KGPerT, 1e-14)
	near(t, "µm/kt of both", two.UMPerKT, 500, 1e-14) // 1000 µm over 2 kt
}
