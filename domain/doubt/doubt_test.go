package doubt_test

import (
	"errors"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"barrelbook/domain/doubt"
	"barrelbook/domain/practice"
	"barrelbook/domain/quantity"
	"barrelbook/domain/refusal"
	"barrelbook/domain/roll"
)

var start = time.Date(2031, 3, 3, 6, 0, 0, 0, time.UTC)

// worn is a roll of 700 mm that came out worn by some 0.26 mm, of which 0.18 mm
// is to be taken off, as its last grinds took.
func worn() doubt.Grind {
	before := roll.State{Diameter: 700_000, Stage: roll.StageWorn, Regrinds: 3, CampaignsSinceGrind: 1, GroundAt: start, Taken: []quantity.Micrometre{170, 190, 210}}
	return doubt.Grind{Before: before, At: start.Add(48 * time.Hour), Ran: true, WornUM: 260, Advised: 180, Practice: practice.Resolve(nil, practice.Scope{}),
		Body: roll.Reground{Found: 699_740, FoundAsRead: 699_740, Ground: 699_560, For: roll.ForWear, GaugeUncertainty: 20}}
}

func TestQuestions(t *testing.T) {
	partner := roll.State{Roll: roll.Roll{Number: "P"}, Diameter: 699_550, Regrinds: 4}
	set := func(change func(*doubt.Grind)) doubt.Grind { g := worn(); change(&g); return g }
	at := func(found, ground quantity.Micrometre) doubt.Grind {
		return set(func(g *doubt.Grind) { g.Body.Found, g.Body.Ground = found, ground })
	}
	for name, c := range map[string]struct {
		grind doubt.Grind
		asked string
	}{
		"as it should be":                  {worn(), ""},
		"worn half as much again":          {at(699_600, 699_420), ""},
		"worn twice as much":               {at(699_470, 699_290), "wear"},
		"hardly worn, as computed":         {at(699_990, 699_810), ""},
		"hardly worn after much":           {set(func(g *doubt.Grind) { g.WornUM, g.Body.Found, g.Body.Ground = 600, 699_980, 699_800 }), "wear"},
		"a third of a millimetre of stock": {at(699_740, 699_410), ""},
		"half a millimetre of stock":       {at(699_740, 699_240), "stock"},
		"nothing taken off":                {at(699_740, 699_740), "stock"},
		"advised, though not usual":        {set(func(g *doubt.Grind) { g.Advised, g.Body.Ground = 900, 698_840 }), ""},
		"less than advised and usual": {set(func(g *doubt.Grind) {
			g.Advised, g.Before.Taken, g.Body.Ground = 900, []quantity.Micrometre{880, 950}, 699_100
		}), "stock"},
		"unlearned, as a normal campaign": {set(func(g *doubt.Grind) { g.WornUM, g.Body.Found, g.Body.Ground = 0, 699_500, 699_320 }), ""},
		"unlearned, far beyond it":        {set(func(g *doubt.Grind) { g.WornUM, g.Body.Found, g.Body.Ground = 0, 699_150, 698_970 }), "wear"},
		"collars do not wear":             {set(func(g *doubt.Grind) { g.Before.Roll.Grooves = []roll.Groove{{Number: 1}} }), "wear"},
		"nothing rolled":                  {set(func(g *doubt.Grind) { g.Ran = false; g.WornUM = 0; g.Body.Found = 700_000; g.Body.Ground = 699_820 }), "nothing_rolled"},
		"nothing rolled, ground for a crack": {set(func(g *doubt.Grind) {
			g.Ran = false
			g.Body.For = roll.ForCrack
			g.Body.Found, g.Body.Ground = 699_990, 699_810
		}), ""},
		"nothing rolled, and worn":             {set(func(g *doubt.Grind) { g.Ran = false; g.Body.For = roll.ForCrack }), "nothing_rolled"},
		"again in a quarter of an hour":        {set(func(g *doubt.Grind) { g.At = start.Add(15 * time.Minute) }), "again"},
		"before the last grind":                {set(func(g *doubt.Grind) { g.At = start.Add(-time.Minute) }), ""},
		"as its partner":                       {set(func(g *doubt.Grind) { g.Partner = &partner }), ""},
		"much, as its partner":                 {set(func(g *doubt.Grind) { p := partner; p.Diameter = 698_000; g.Partner, g.Body.Ground = &p, 698_040 }), ""},
		"unlike its partner":                   {set(func(g *doubt.Grind) { p := partner; p.Diameter = 699_720; g.Partner = &p }), "pair"},
		"its partner is worn too":              {set(func(g *doubt.Grind) { p := partner; p.Diameter, p.CampaignsSinceGrind = 700_000, 1; g.Partner = &p }), ""},
		"much, and read along the barrel":      {set(func(g *doubt.Grind) { g.Body.Ground, g.Body.Stations = 698_000, stations(697_960, 698_000) }), ""},
		"unlike its readings along the barrel": {set(func(g *doubt.Grind) { g.Body.Stations = stations(698_560, 698_520) }), "stations"},
		"found unlike its own":                 {set(func(g *doubt.Grind) { g.Body.FoundStations = stations(699_140, 699_100) }), "stations"},
		"worn much, and read along": {set(func(g *doubt.Grind) {
			g.Body.Found, g.Body.Ground, g.Body.FoundStations = 699_300, 699_120, stations(699_300)
		}), ""},
	} {
		if got := names(c.grind.Questions()); got != c.asked {
			t.Errorf("%s: asked %q, want %q: %+v", name, got, c.asked, c.grind.Questions())
		}
	}
}

func stations(diameters ...quantity.Micrometre) (list []roll.Station) {
	for i, d := range diameters {
		list = append(list, roll.Station{AtMM: float64(100 + 800*i), Diameter: d})
	}
	return list
}

func names(asked []doubt.Question) string {
	var list []string
	for _, q := range asked {
		list = append(list, string(q.Name))
	}
	return strings.Join(list, " ")
}

// TestHalfAMillimetreIsAsked: of a roll whose wear and stock are some tenths, as
// of every work roll of a strip mill, no slip of half a millimetre passes.
func TestHalfAMillimetreIsAsked(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		g := worn()
		wear := rapid.IntRange(0, 300).Draw(t, "wear")
		g.WornUM = float64(wear)
		g.Body.Found = g.Before.Diameter - quantity.Micrometre(wear)
		g.Body.Ground = g.Body.Found - 180
		if got := names(g.Questions()); got != "" {
			t.Fatalf("asked %q of figures as they should be", got)
		}
		slip := quantity.Micrometre(rapid.IntRange(500, 5000).Draw(t, "slip"))
		for _, figure := range []*quantity.Micrometre{&g.Body.Found, &g.Body.Ground} {
			*figure -= slip
			if len(g.Questions()) == 0 {
				t.Fatalf("a slip of %s passed: wear %s, stock %s", slip, g.Before.Diameter-g.Body.Found, g.Body.Found-g.Body.Ground)
			}
			*figure += slip // upwards, found is above the last diameter and ground above found: refused by the book
		}
	})
}

func TestReceipt(t *testing.T) {
	if got := names(doubt.Receipt("cw-110", []string{"CW-110"})); got != "" {
		t.Errorf("the same number is asked about: %q", got)
	}
	if got := names(doubt.Receipt("CW-11O", []string{"CW-110"})); got != "alike" {
		t.Errorf("CW-11O beside CW-110: asked %q", got)
	}
}

func TestHardness(t *testing.T) {
	s := roll.State{Hardness: 80}
	test := func(shoreC float64) []roll.Test { return []roll.Test{{Kind: roll.HardnessTest, Hardness: shoreC}} }
	along := []roll.Test{{Kind: roll.Visual}, {Kind: roll.HardnessTest, Readings: []roll.Reading{{AtMM: 100, Value: 81}, {AtMM: 900, Value: 8.1}, {AtMM: 1700, Value: 8}}}}
	for _, c := range []struct {
		tests []roll.Test
		field string
	}{{test(84), ""}, {test(60), "tests/0/hardness_shore_c"}, {along, "tests/1/readings/1/value"}} {
		asked, field := doubt.Tests(s, c.tests, "tests"), ""
		if len(asked) > 0 {
			field = asked[0].Field
		}
		if field != c.field || len(asked) > 1 {
			t.Errorf("%+v: asked %+v, want it at %q", c.tests, asked, c.field)
		}
	}
	if asked := doubt.Tests(roll.State{}, test(60), "tests"); asked != nil {
		t.Errorf("asked %+v of a roll that was never tested", asked)
	}
}

func TestAnswers(t *testing.T) {
	asked := []doubt.Question{{doubt.Wear, "found_mm", "a"}, {doubt.Stock, "ground_mm", "b"}, {doubt.Stations, "ground_mm", "c"}, {doubt.Stations, "found_mm", "d"}}
	answered, open := doubt.Answered(asked, []doubt.Name{doubt.Stations, doubt.Alike})
	if len(answered) != 1 || answered[0] != doubt.Stations || names(open) != "wear stock" {
		t.Errorf("answered %q, open %q", answered, names(open))
	}
	err := doubt.Ask(open)
	var e *doubt.Open
	if fields := refusal.FieldsOf(err); !errors.As(err, &e) || len(fields) != 2 || fields[1].Path != "ground_mm" || fields[0].Next[0].Arguments["confirmed"] != "wear,stock" {
		t.Errorf("%v with the fields %+v", err, refusal.FieldsOf(err))
	}
	if doubt.Ask(nil) != nil {
		t.Error("nothing open, and an error")
	}
}
