package roll_test

import (
	"math"
	"testing"

	"barrelbook/domain/roll"
)

// A parabola of 80 µm over 1900 mm lies 0.81 of that below the middle at 5 % from
// the ends; with a taper of 6 µm between the two outermost places.
func TestCrownAndTaperFromStations(t *testing.T) {
	r := received()
	r.Roll.BarrelLength = 1_900_000
	r.Diameter, r.Roll.NewDiameter = 750_000, 750_000
	r.Measures.Stations = []roll.Station{{AtMM: 1805, Diameter: 749_932}, {AtMM: 95, Diameter: 749_938}, {AtMM: 950, Diameter: 750_000}}
	s := open(t, step{0, r, ""}).state
	if s.Measured.CrownUM == nil || math.Abs(*s.Measured.CrownUM-80) > 0.5 || s.CrownUM != *s.Measured.CrownUM {
		t.Errorf("crown %v, want 80 µm", s.Measured.CrownUM)
	}
	if s.Measured.TaperUM == nil || *s.Measured.TaperUM != 6 {
		t.Errorf("taper %v, want 6 µm", s.Measured.TaperUM)
	}
	// What was given stands.
	given := 75.0
	r.Measures.CrownUM = &given
	if s = open(t, step{0, r, ""}).state; s.CrownUM != 75 {
		t.Errorf("crown %g, want that given", s.CrownUM)
	}
	// Two places tell no shape.
	r.Measures = roll.Measures{Stations: r.Measures.Stations[:2]}
	if s = open(t, step{0, r, ""}).state; s.Measured.Has(roll.MeasureCrown) || s.Measured.Has(roll.MeasureStations) {
		t.Errorf("two stations told %+v", s.Measured)
	}
}
