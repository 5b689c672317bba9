package quantity_test

import (
	"testing"

	"barrelbook/domain/quantity"
	"barrelbook/domain/refusal"
)

func TestEntryReadsItsFields(t *testing.T) {
	e := quantity.Entry{System: quantity.ImperialLong}
	found := e.Length("found_mm", "29.07")
	ground := e.Length("ground_mm", "28 15/16 in")
	force := e.Value("force_kn", "1000", quantity.Force)
	minutes := e.Value("time_min", "1.5h", quantity.Time) // belongs to no side
	if err := e.Err(); err != nil {
		t.Fatal(err)
	}
	if found != 738_378 || ground != 735_013 || force != 9964.01641818352 || minutes != 90 {
		t.Errorf("read %d µm, %d µm, %v kN, %v min", found, ground, force, minutes)
	}
}

func TestEntryRefusesMixedUnits(t *testing.T) {
	const do = "; write every figure of one entry in metric or every one in imperial units, and name the unit"
	for _, c := range []struct {
		name          string
		sys           quantity.System
		found, ground string
		force         string
		want          string
	}{
		{"two named", quantity.Metric, "29.07in", "735.01mm", "9964",
			`ground_mm "735.01mm" is metric (mm), but found_mm "29.07in" is imperial (in)` + do},
		{"a bare number on the other side", quantity.Metric, "29.07in", "28.95", "1000 long tonf",
			`ground_mm "28.95" names no unit and is taken as mm, but found_mm "29.07in" is imperial (in)` + do},
		{"across dimensions", quantity.Metric, "738.4", "735.01", "1000 long tonf",
			`force_kn "1000 long tonf" is imperial (long tonf), but found_mm "738.4" names no unit and is taken as mm` + do},
		{"metric in an imperial works", quantity.ImperialShort, "29.07", "735.01mm", "1000",
			`ground_mm "735.01mm" is metric (mm), but found_mm "29.07" names no unit and is taken as in` + do},
	} {
		t.Run(c.name, func(t *testing.T) {
			e := quantity.Entry{System: c.sys}
			e.Value("time_min", "5 min", quantity.Time)
			e.Length("found_mm", c.found)
			e.Length("ground_mm", c.ground)
			e.Value("force_kn", c.force, quantity.Force)
			if err := e.Err(); err == nil || err.Error() != c.want {
				t.Errorf("got  %v\nwant %s", err, c.want)
			}
		})
	}
}

func TestEntryTellsOfEveryBadField(t *testing.T) {
	var e quantity.Entry
	e.Length("found_mm", "738,4")
	e.Length("ground_mm", "735.01")
	e.Value("force_kn", "1000 tonf", quantity.Force)
	e.Value("mass_t", "20 short ton", quantity.Mass)
	for range 2 { // asking twice adds nothing
		got := refusal.FieldsOf(e.Err())
		if len(got) != 3 || got[0].Path != "found_mm" || got[1].Path != "force_kn" || got[2].Path != "mass_t" {
			t.Fatalf("refused %v", got)
		}
	}
}
