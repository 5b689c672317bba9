package reading_test

import (
	"testing"
	"time"

	"pgregory.net/rapid"

	"barrelbook/domain/practice"
	"barrelbook/domain/quantity"
	"barrelbook/domain/reading"
	"barrelbook/domain/roll"
)

var start = time.Date(2026, 3, 1, 6, 0, 0, 0, time.UTC)

// book numbers and dates bodies, a day apart.
func book(bodies ...roll.Body) []roll.Entry {
	list := make([]roll.Entry, len(bodies))
	for i, b := range bodies {
		list[i] = roll.Entry{Roll: "W1", Number: int64(i + 1), At: start.AddDate(0, 0, i), Body: b}
	}
	return list
}

func deg(v float64) *float64 { return &v }

func bruise(outcome roll.Outcome, values ...float64) roll.Test {
	t := roll.Test{Kind: roll.EddyCurrent, Outcome: outcome}
	for i, v := range values {
		// Each time a little off, as hand and drum are.
		t.Readings = append(t.Readings, roll.Reading{AtMM: 812 + float64(i), AroundDeg: deg(140), Value: v, Threshold: 2, Indication: roll.IndicationBruise})
	}
	return t
}

func inspected(tests ...roll.Test) roll.Inspected { return roll.Inspected{Tests: tests} }

func ground(mm float64, tests ...roll.Test) roll.Reground {
	return roll.Reground{Ground: quantity.Micrometre(mm * 1000), Tests: tests}
}

// TestCourse walks through what can become of a place.
func TestCourse(t *testing.T) {
	withdrawn := roll.Withdrawn{Stand: "F1"}
	for _, c := range []struct {
		name   string
		bodies []roll.Body
		course reading.Course
		named  bool
		says   string
	}{
		{"read once", []roll.Body{inspected(bruise(roll.Passed, 0.6))}, reading.New, false, "eddy current bruise at 812 mm, 140°: 0.6 of 2 allowed"},
		{"read once, above", []roll.Body{inspected(bruise(roll.Failed, 2.5))}, reading.New, true, "eddy current bruise at 812 mm, 140°: 2.5 of 2 allowed"},
		{"no larger", []roll.Body{inspected(bruise(roll.Passed, 0.6)), inspected(bruise(roll.Passed, 0.6))}, reading.Seen, false, "eddy current bruise at 812 mm, 140°: 0.6, now 0.6 of 2 allowed"},
		{"grows unground", []roll.Body{inspected(bruise(roll.Passed, 0.6)), withdrawn, inspected(bruise(roll.Passed, 0.7))}, reading.Grown, true,
			"eddy current bruise at 812 mm, 140°: 0.6, now 0.7 of 2 allowed; it grew"},
		{"comes back and grows, the handbook's example", []roll.Body{inspected(bruise(roll.Passed, 0.6)), ground(700), withdrawn, inspected(bruise(roll.Passed, 0.9)), ground(699), withdrawn, inspected(bruise(roll.Passed, 1.4))},
			reading.CameBack, true, "eddy current bruise at 812 mm, 140°: 0.6, then 0.9, now 1.4 of 2 allowed; it came back and grew"},
		{"the grind left it", []roll.Body{inspected(bruise(roll.Failed, 2.5)), ground(700, bruise(roll.Failed, 2.2))}, reading.NotGroundOut, true,
			"eddy current bruise at 812 mm, 140°: 2.5, now 2.2 of 2 allowed; the grind did not take it out"},
		{"passed with nothing there", []roll.Body{inspected(bruise(roll.Failed, 2.5)), ground(700, bruise(roll.Passed))}, reading.Gone, false,
			"eddy current bruise at 812 mm, 140°: 2.5 of 2 allowed; nothing was read there at the passed test of 2026-03-02"},
		{"back after a clear test", []roll.Body{inspected(bruise(roll.Failed, 2.5)), inspected(bruise(roll.Passed)), inspected(bruise(roll.Passed, 1))}, reading.CameBack, true,
			"eddy current bruise at 812 mm, 140°: 2.5, now 1 of 2 allowed; it came back"},
		// An unknown or failed test that read nothing there clears nothing.
		{"unknown clears nothing", []roll.Body{inspected(bruise(roll.Failed, 2.5)), inspected(bruise(roll.Unknown))}, reading.New, true, "eddy current bruise at 812 mm, 140°: 2.5 of 2 allowed"},
		{"another method clears nothing", []roll.Body{inspected(bruise(roll.Failed, 2.5)), inspected(roll.Test{Kind: roll.Visual, Outcome: roll.Passed})}, reading.New, true, "eddy current bruise at 812 mm, 140°: 2.5 of 2 allowed"},
		{"two in one test: the larger", []roll.Body{inspected(bruise(roll.Passed, 0.6, 0.8))}, reading.New, false, "eddy current bruise at 812 mm, 140°: 0.8 of 2 allowed"},
		{"a long history", []roll.Body{inspected(bruise(roll.Passed, 0.1)), inspected(bruise(roll.Passed, 0.2)), inspected(bruise(roll.Passed, 0.3)), inspected(bruise(roll.Passed, 0.4)),
			inspected(bruise(roll.Passed, 0.5)), inspected(bruise(roll.Passed, 0.6)), inspected(bruise(roll.Passed, 0.7))}, reading.Grown, true,
			"eddy current bruise at 812 mm, 140°: 0.1, 2 more, then 0.4, then 0.5, then 0.6, now 0.7 of 2 allowed; it grew"},
	} {
		t.Run(c.name, func(t *testing.T) {
			places := reading.Map(book(c.bodies...), reading.Near)
			if len(places) != 1 {
				t.Fatalf("%d places: %+v", len(places), places)
			}
			if p := places[0]; p.Course != c.course || p.Named() != c.named || p.Says() != c.says {
				t.Errorf("course %s, named %v\n got %s\nwant %s, named %v, %s", p.Course, p.Named(), p.Says(), c.course, c.named, c.says)
			}
		})
	}
}

// TestPlaces says which readings are of one place.
func TestPlaces(t *testing.T) {
	at := func(mm float64, around *float64, i roll.Indication) roll.Reading {
		return roll.Reading{AtMM: mm, AroundDeg: around, Value: 1, Indication: i}
	}
	crack, bruise := roll.IndicationCrack, roll.IndicationBruise
	for _, c := range []struct {
		name string
		a, b roll.Reading
		one  bool
	}{
		{"as far along as allowed", at(800, deg(10), crack), at(820, deg(10), crack), true},
		{"further along", at(800, deg(10), crack), at(820.1, deg(10), crack), false},
		{"across the mark", at(800, deg(358), crack), at(800, deg(2), crack), true},
		{"0° is 360°", at(800, deg(0), crack), at(800, deg(360), crack), true},
		{"further around", at(800, deg(10), crack), at(800, deg(16), crack), false},
		{"no angle beside one", at(800, nil, crack), at(800, deg(10), crack), false},
		{"neither has an angle", at(800, nil, crack), at(805, nil, crack), true},
		{"crack and bruise", at(800, deg(10), crack), at(800, deg(10), bruise), false},
		{"a crack is an eddy current test's usual reading", at(800, deg(10), ""), at(800, deg(10), crack), true},
	} {
		places := reading.Map(book(inspected(roll.Test{Kind: roll.EddyCurrent, Readings: []roll.Reading{c.a}}), inspected(roll.Test{Kind: roll.EddyCurrent, Readings: []roll.Reading{c.b}})), reading.Near)
		if one := len(places) == 1; one != c.one {
			t.Errorf("%s: %d places", c.name, len(places))
		}
	}
}

// TestJudge: the threshold decides, unknown never passes, and passed with a
// reading above it is a contradiction.
func TestJudge(t *testing.T) {
	p := practice.Resolve([]practice.Practice{{Name: "eddy", Values: map[practice.Key]float64{practice.EddyBruiseThreshold: 2, practice.MaxCrackUM: 100}}}, practice.Scope{})
	test := func(o roll.Outcome, readings ...roll.Reading) roll.Test {
		return roll.Test{Kind: roll.EddyCurrent, Outcome: o, AllowedUM: 100, Readings: readings}
	}
	b := func(value, threshold float64) roll.Reading {
		return roll.Reading{Value: value, Threshold: threshold, Indication: roll.IndicationBruise}
	}
	for _, c := range []struct {
		name    string
		test    roll.Test
		want    roll.Outcome
		refused bool
	}{
		{"passed below it", test(roll.Passed, b(1.9, 0)), roll.Passed, false},
		{"passed at it", test(roll.Passed, b(2, 0)), roll.Passed, false},
		{"passed above it", test(roll.Passed, b(2.1, 0)), roll.Passed, true},
		{"passed above it, under a threshold typed higher", test(roll.Passed, b(2.1, 5)), roll.Passed, true},
		{"passed above a threshold typed lower", test(roll.Passed, b(1.9, 1)), roll.Passed, true},
		{"unknown above it", test(roll.Unknown, b(2.1, 0)), roll.Failed, false},
		{"unknown below it", test(roll.Unknown, b(1, 0)), roll.Unknown, false},
		{"failed below it", test(roll.Failed, b(1, 0)), roll.Failed, false},
		{"no word, below it", test("", b(1, 0)), roll.Passed, false},
		{"no word, above it", test("", b(1, 0), b(3, 0)), roll.Failed, false},
		{"no word, one without a threshold", test("", b(1, 0), roll.Reading{Value: 1}), roll.Unknown, false},
		{"no word, deeper than allowed", test("", roll.Reading{Value: 1, DepthUM: 101, Indication: roll.IndicationBruise}), roll.Failed, false},
		{"no word, no reading", test(""), roll.Unknown, false},
		{"no word, a depth within what is allowed and no value", test("", roll.Reading{DepthUM: 50, Indication: roll.IndicationBruise}), roll.Unknown, false},
		{"no word, the bond alone", roll.Test{Kind: roll.Ultrasonic, Readings: []roll.Reading{{DepthUM: 45000, Indication: roll.IndicationBond}}}, roll.Unknown, false},
		{"no word, hardness", roll.Test{Kind: roll.HardnessTest, Readings: []roll.Reading{{Value: 74}}}, roll.Passed, false},
		{"a reflector of an eddy current test", test(roll.Failed, roll.Reading{Value: 1, Indication: roll.IndicationReflector}), roll.Failed, true},
		{"the depth of the bond is no defect", roll.Test{Kind: roll.Ultrasonic, Outcome: roll.Passed, Readings: []roll.Reading{{DepthUM: 45000, Indication: roll.IndicationBond}}}, roll.Passed, false},
	} {
		got := reading.Judge(p, c.test)
		if refused := roll.CheckTests([]roll.Test{got}) != nil; got.Outcome != c.want || refused != c.refused {
			t.Errorf("%s: %s, refused %v; want %s, %v", c.name, got.Outcome, refused, c.want, c.refused)
		}
	}
}

// TestEveryReadingHasAPlace: of each test the largest reading of a place stands,
// no two looks of a place are of one entry, and all lie within the distance.
func TestEveryReadingHasAPlace(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var bodies []roll.Body
		for range rapid.IntRange(1, 6).Draw(t, "tests") {
			test := roll.Test{Kind: roll.EddyCurrent, Outcome: rapid.SampledFrom([]roll.Outcome{roll.Passed, roll.Failed, roll.Unknown}).Draw(t, "outcome")}
			for range rapid.IntRange(0, 5).Draw(t, "readings") {
				test.Readings = append(test.Readings, roll.Reading{AtMM: rapid.Float64Range(0, 200).Draw(t, "at"), AroundDeg: deg(rapid.Float64Range(0, 360).Draw(t, "around")), Value: rapid.Float64Range(0.1, 5).Draw(t, "value")})
			}
			if rapid.Bool().Draw(t, "grind") {
				bodies = append(bodies, ground(700, test))
			} else {
				bodies = append(bodies, inspected(test))
			}
		}
		places := reading.Map(book(bodies...), reading.Near)
		for n, b := range bodies {
			var tests []roll.Test
			if g, is := b.(roll.Reground); is {
				tests = g.Tests
			} else {
				tests = b.(roll.Inspected).Tests
			}
			for _, r := range tests[0].Readings {
				found := false
				for _, p := range places {
					for _, l := range p.Looks {
						found = found || l.Entry == int64(n+1) && l.Value >= r.Value && near(l, r)
					}
				}
				if !found {
					t.Fatalf("%+v of entry %d has no place in %+v", r, n+1, places)
				}
			}
		}
		for _, p := range places {
			seen := map[int64]bool{}
			for _, l := range p.Looks {
				if seen[l.Entry] {
					t.Fatalf("two readings of entry %d at one place", l.Entry)
				}
				seen[l.Entry] = true
			}
		}
	})
}

// near allows twice the distance, as both lie that far from the place's first
// reading.
func near(l reading.Look, r roll.Reading) bool {
	d := *l.AroundDeg - *r.AroundDeg
	for d > 180 {
		d -= 360
	}
	for d < -180 {
		d += 360
	}
	along := l.AtMM - r.AtMM
	return along*along <= 4*reading.Near.AlongMM*reading.Near.AlongMM+1e-6 && d*d <= 4*reading.Near.AroundDeg*reading.Near.AroundDeg+1e-6
}

// TestPartOfABarrel: a test whose result is not known, as one that lost lines of
// its file, takes no deeper defect out of the book.
func TestPartOfABarrel(t *testing.T) {
	crack := func(o roll.Outcome, um float64) roll.Inspected {
		return inspected(roll.Test{Kind: roll.EddyCurrent, Outcome: o, Readings: []roll.Reading{{AtMM: 100, Value: 1, DepthUM: um}}})
	}
	received := roll.Received{Roll: roll.Roll{Number: "W1", NewDiameter: 700_000, BarrelLength: 2_000_000, Scrap: roll.ScrapLimits{Nominal: 650_000}}, Diameter: 700_000, Ground: true}
	for _, c := range []struct {
		name   string
		then   roll.Inspected
		depth  float64
		cracks float64
	}{
		{"unknown, less deep", crack(roll.Unknown, 100), 400, 400},
		{"unknown, deeper", crack(roll.Unknown, 500), 500, 500},
		{"failed, less deep", crack(roll.Failed, 100), 100, 100},
		{"passed", inspected(roll.Test{Kind: roll.EddyCurrent, Outcome: roll.Passed}), 0, 0},
		{"unknown, nothing read", inspected(roll.Test{Kind: roll.EddyCurrent, Outcome: roll.Unknown}), 400, 400},
	} {
		s, err := roll.Replay(book(received, crack(roll.Failed, 400), c.then))
		if err != nil {
			t.Fatal(err)
		}
		if d, _ := s.DeepestDefect(); d.DepthUM != c.depth || s.FireCracks.LeftUM != c.cracks {
			t.Errorf("%s: %g µm deep, fire cracks %g; want %g and %g", c.name, d.DepthUM, s.FireCracks.LeftUM, c.depth, c.cracks)
		}
	}
	// A bruise is a defect to be ground out and no fire crack.
	s, err := roll.Replay(book(received, inspected(roll.Test{Kind: roll.EddyCurrent, Outcome: roll.Failed, Readings: []roll.Reading{{AtMM: 100, Value: 3, DepthUM: 300, Indication: roll.IndicationBruise}}})))
	if d, _ := s.DeepestDefect(); err != nil || d.DepthUM != 300 || s.FireCracks.LeftUM != 0 {
		t.Errorf("bruise: %v, %g µm deep, fire cracks %g", err, d.DepthUM, s.FireCracks.LeftUM)
	}
}
