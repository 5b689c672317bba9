package main

import (
	"math"
	"slices"
)

// What the roll shop of the works looks at: all that common practice asks of a
// roll before it goes out.

// shells are the grades that are cast as a shell on a core.
var shells = []string{"hss", "ic-enhanced", "hicr-steel", "ic-plate"}

func (c *class) composite() bool { return slices.Contains(shells, c.grade) }

// flat says whether the class rolls flat, on a barrel whose shape matters.
func (l *line) flat() bool { return l.mill != coggingMill && l.mill != billetMill && l.mill != barMill }

func passed(test string) object { return object{"test": test, "outcome": "passed"} }

// hardnessAlong is a hardness test with readings at five places of the barrel.
func (s *shop) hardnessAlong(c *class) object {
	var readings []object
	for i := range 5 {
		readings = append(readings, object{"at_mm": round(c.barrelMM*(0.05+0.225*float64(i)), 0), "value": round(c.hardness+0.8*s.look.NormFloat64(), 1)})
	}
	return object{"test": "hardness", "outcome": "passed", "readings": readings}
}

// newTests are those of the certificate and of the receipt check.
func (s *shop) newTests(c *class) []object {
	tests := []object{passed("visual"), s.hardnessAlong(c)}
	if s.line.flat() && c.role != "backup" {
		tests = append(tests, passed("eddy_current"))
	}
	if c.role != "work" || c.composite() {
		tests = append(tests, passed("ultrasonic"))
	}
	return tests
}

// groundTests are those after a grind.
func (s *shop) groundTests(b *book) []object {
	c := b.class
	tests := []object{passed("visual")}
	if b.due || s.line.flat() && c.role != "backup" {
		tests = append(tests, passed("eddy_current"))
	}
	if c.role != "work" || c.composite() && b.grinds%9 == 0 {
		tests = append(tests, passed("ultrasonic"))
	}
	if c.role != "work" || b.grinds%4 == 0 {
		tests = append(tests, s.hardnessAlong(c))
	}
	return tests
}

// shape is what is measured of a barrel besides crown and taper: µm of run-out
// and roundness, and the diameter at three places.
func (s *shop) shape(b *book, ground int64, crownUM, taperUM float64) object {
	c := b.class
	o := object{"roundness_um": round(math.Min(7, 2+math.Abs(1.5*s.look.NormFloat64())), 1)}
	if s.line.flat() {
		middle := float64(ground)
		end := middle - 0.81*crownUM // a parabola at 5 % from the end
		o["stations"] = []object{
			{"at_mm": round(0.05*c.barrelMM, 0), "diameter_mm": math.Round(end+0.5*taperUM) / 1000},
			{"at_mm": round(0.5*c.barrelMM, 0), "diameter_mm": math.Round(middle) / 1000},
			{"at_mm": round(0.95*c.barrelMM, 0), "diameter_mm": math.Round(end-0.5*taperUM) / 1000},
		}
	}
	return o
}
