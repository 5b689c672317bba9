package wear_test

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"barrelbook/domain/quantity"
	"barrelbook/domain/refusal"
	"barrelbook/domain/wear"
)

// A finishing roll worked by hand: six grooves, 2.4 mm on diameter per 1000 t,
// 500 t each. Groove 1 takes 500 t (1.2 mm), groove 2 takes 300 t (0.72 mm).
// Left: 0 + 200 + 4·500 = 2200 t. The least redress is 1.2 mm and 0.3 margin.
// A redress of 1.5 mm takes 342.000 to 340.500 mm; from there to scrap at
// 320.000 are 20.5/1.5, 13 whole redresses.
func TestGrooveLifeWorkedByHand(t *testing.T) {
	grooves := make([]wear.Groove, 6)
	for _, use := range []struct {
		number int
		tonnes float64
	}{{1, 200}, {1, 300}, {2, 300}} {
		if err := wear.Use(grooves, use.number, use.tonnes, 2400); err != nil {
			t.Fatal(err)
		}
	}
	if grooves[0].Tonnes != 500 || !near(grooves[0].WornUM, 1200, 1e-12) || !near(grooves[1].WornUM, 720, 1e-12) {
		t.Errorf("grooves %+v, want 500 t and 1200 µm, 300 t and 720 µm", grooves[:2])
	}
	if spares, first := wear.Spare(grooves); spares != 4 || first != 3 {
		t.Errorf("%d spares from groove %d, want 4 from 3", spares, first)
	}
	if left, err := wear.TonnesLeft(grooves, 500); err != nil || left != 2200 {
		t.Errorf("%v t left, %v, want 2200", left, err)
	}
	if least, err := wear.LeastRedress(grooves, 300); err != nil || least != 1500 {
		t.Errorf("least redress %v, %v, want 1.500 mm", least, err)
	}
	before := grooves[0]
	_, err := wear.Redress(grooves, 342_000, 1_199, 320_000)
	fields := refusal.FieldsOf(err)
	if len(fields) != 1 || fields[0].Path != "redress_mm" || grooves[0] != before {
		t.Fatalf("a redress 1 µm shallower than groove 1: %v, groove now %+v", err, grooves[0])
	}
	diameter, err := wear.Redress(grooves, 342_000, 1_500, 320_000)
	if err != nil || diameter != 340_500 {
		t.Errorf("diameter %v, %v, want 340.500 mm", diameter, err)
	}
	if spares, first := wear.Spare(grooves); spares != 6 || first != 1 {
		t.Errorf("after the redress %d spares from %d, want all 6", spares, first)
	}
	if n, err := wear.RedressesLeft(diameter, 320_000, 1_500); err != nil || n != 13 {
		t.Errorf("%d redresses left, %v, want 13", n, err)
	}
}

// Derived by an independent program: (712.4-680.0)/0.45 is 72 exactly, where
// binary floats count 71.
func TestRedressesLeftCountsInIntegers(t *testing.T) {
	for _, row := range []struct {
		d, scrap, cut quantity.Micrometre
		want          int64
	}{{712_400, 680_000, 450, 72}, {712_399, 680_000, 450, 71}, {680_000, 680_000, 450, 0}, {679_000, 680_000, 450, 0}} {
		if n, err := wear.RedressesLeft(row.d, row.scrap, row.cut); err != nil || n != row.want {
			t.Errorf("%v to %v by %v: %d, %v, want %d", row.d, row.scrap, row.cut, n, err, row.want)
		}
	}
	if _, err := wear.RedressesLeft(700_000, 680_000, 0); err == nil {
		t.Error("a cut of nothing was taken")
	}
}

// Worked by hand: a 40 mm deep box groove in a 500 mm roll works at 420 mm. A
// wall 10° from the radial plane worn 0.3 mm square to itself needs 0.3/sin 10°
// = 1.7276 mm on the radius, 3.4553 mm on diameter; the bottom only 0.6.
func TestGrooveGeometryWorkedByHand(t *testing.T) {
	if d, err := wear.WorkingDiameter(500_000, 40_000); err != nil || d != 420_000 {
		t.Errorf("working diameter %v, %v, want 420 mm", d, err)
	}
	for _, row := range []struct {
		taper float64
		want  quantity.Micrometre
	}{{10, 3456}, {30, 1200}, {90, 600}} {
		if cut, err := wear.WallCut(300, row.taper); err != nil || cut != row.want {
			t.Errorf("wall at %v°: cut %v, %v, want %v", row.taper, cut, err, row.want)
		}
	}
	if _, err := wear.WorkingDiameter(500_000, 250_000); err == nil {
		t.Error("a groove through the roll was taken")
	}
	if _, err := wear.WallCut(300, 0); err == nil {
		t.Error("a wall that turning never reaches was taken")
	}
}

func TestGroovesRefuse(t *testing.T) {
	grooves := make([]wear.Groove, 2)
	for _, number := range []int{0, 3, -1} {
		if fields := refusal.FieldsOf(wear.Use(grooves, number, 1, 1)); len(fields) != 1 || fields[0].Path != "groove" {
			t.Errorf("groove %d of 2: %v", number, fields)
		}
	}
	for _, bad := range [][2]float64{{-1, 1}, {1, -1}, {math.NaN(), 1}, {1e300, 1e300}} {
		if err := wear.Use(grooves, 1, bad[0], bad[1]); err == nil || grooves[0] != (wear.Groove{}) {
			t.Errorf("%v: %v, groove now %+v", bad, err, grooves[0])
		}
	}
	worn := []wear.Groove{{Tonnes: 1, WornUM: math.NaN()}}
	for name, err := range map[string]error{
		"below scrap":      second(wear.Redress(grooves, 321_000, 1_500, 320_000)),
		"no grooves":       second(wear.Redress(nil, 321_000, 500, 320_000)),
		"no cut":           second(wear.Redress(grooves, 321_000, 0, 320_000)),
		"wear not finite":  second(wear.Redress(worn, 321_000, 500, 320_000)),
		"negative margin":  second(wear.LeastRedress(grooves, -1)),
		"limit of nothing": second(wear.TonnesLeft(grooves, 0)),
	} {
		if err == nil {
			t.Errorf("%s was taken", name)
		}
	}
}

func second[T any](_ T, err error) error { return err }

// The advised redress is always enough, and one micrometre less than the wear
// never is.
func TestLeastRedressIsLeast(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		grooves := make([]wear.Groove, rapid.IntRange(1, 12).Draw(t, "grooves"))
		for range rapid.IntRange(1, 40).Draw(t, "pieces") {
			number := rapid.IntRange(1, len(grooves)).Draw(t, "number")
			if err := wear.Use(grooves, number, rapid.Float64Range(0.1, 60).Draw(t, "tonnes"), 3000); err != nil {
				t.Fatal(err)
			}
		}
		least, err := wear.LeastRedress(grooves, 0)
		if err != nil || least < 1 {
			t.Fatal(least, err)
		}
		if _, err := wear.Redress(grooves, 500_000_000, least-1, 0); err == nil {
			t.Fatalf("%v was taken, least is %v for %+v", least-1, least, grooves)
		}
		if d, err := wear.Redress(grooves, 500_000_000, least, 0); err != nil || d != 500_000_000-least {
			t.Fatalf("%v refused: %v for %+v", least, err, grooves)
		}
	})
}
