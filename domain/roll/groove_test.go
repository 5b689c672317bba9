package roll_test

import (
	"strings"
	"testing"

	"barrelbook/domain/quantity"
	"barrelbook/domain/refusal"
	"barrelbook/domain/roll"
)

func grooved() []step {
	r := cameGround()
	r.Roll.Grooves = []roll.Groove{{Number: 1, Depth: 30_000}, {Number: 2, Depth: 25_000}}
	return []step{{0, r, ""}}
}

func redress(found, ground, worn quantity.Micrometre, purpose roll.Purpose) roll.Reground {
	b := reground(found, ground)
	b.For, b.GrooveWorn = purpose, worn
	return b
}

// TestRedress: a grind of a grooved roll turns all its grooves, and must reach
// the bottom of the deepest worn one. The cut counts from the last diameter.
func TestRedress(t *testing.T) {
	b := open(t, grooved()...)
	refused(t, b.write(step{1, redress(750_000, 747_000, 0, roll.ForWear), ""}), 0, "purpose", "2 grooves", "redress")
	refused(t, b.write(step{1, redress(750_000, 747_001, 3_000, roll.ForRedress), ""}), 0, "ground_mm", "takes 2.999 mm", "worn by 3.000 mm", "groove_worn_um")
	for _, purpose := range []roll.Purpose{roll.ForRedress, roll.ForCrack, roll.ForIncident} {
		b := open(t, grooved()...)
		must(t, b, step{1, redress(749_900, 747_000, 3_000, purpose), ""})
		replays(t, b)
	}
	plain := open(t, step{0, cameGround(), ""})
	refused(t, plain.write(step{1, redress(750_000, 747_000, 0, roll.ForRedress), ""}), 0, "purpose", "plain barrel", "wear")
}

func TestCheckGrooves(t *testing.T) {
	const scrap = 600_000
	for name, c := range map[string]struct {
		grooves []roll.Groove
		want    string
	}{
		"none":               {nil, ""},
		"as painted":         {[]roll.Groove{{Number: 1, Depth: 0}, {Number: 2, Depth: 299_999}}, ""},
		"a gap":              {[]roll.Groove{{Number: 1}, {Number: 3}}, "grooves/1/number 3 must be 2"},
		"not from 1":         {[]roll.Groove{{Number: 0}}, "grooves/0/number 0 must be 1"},
		"deeper than a roll": {[]roll.Groove{{Number: 1, Depth: 300_000}}, "grooves/0/depth_mm 300.000 mm must not be below 0"},
		"above the collar":   {[]roll.Groove{{Number: 1, Depth: -1}}, "grooves/0/depth_mm -0.001 mm must not be below 0"},
	} {
		t.Run(name, func(t *testing.T) {
			fields := refusal.FieldsOf(roll.CheckGrooves(c.grooves, scrap))
			if c.want == "" && len(fields) > 0 || c.want != "" && (len(fields) != 1 || !strings.HasPrefix(fields[0].String(), c.want)) {
				t.Errorf("got %v, want %q", fields, c.want)
			}
			r := roll.Roll{Grooves: c.grooves}
			if r.Grooved() != (len(c.grooves) > 0) || r.HasGroove(0) || r.HasGroove(len(c.grooves)+1) || len(c.grooves) > 0 && !r.HasGroove(len(c.grooves)) {
				t.Errorf("grooved %v, groove 0 %v", r.Grooved(), r.HasGroove(0))
			}
		})
	}
}
