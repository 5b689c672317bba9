package life_test

import (
	"testing"

	"pgregory.net/rapid"

	"barrelbook/domain/life"
	"barrelbook/domain/quantity"
	"barrelbook/domain/refusal"
)

func TestScrapLimitIsTheTightest(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		names := []life.LimitName{life.ShellDepth, life.HardenedDepth, life.StackHeight, life.NeckFillet,
			life.DriveAngle, life.SpeedRange, life.NominalScrap}
		var limits []life.Limit
		for _, n := range names[:rapid.IntRange(1, len(names)).Draw(t, "count")] {
			limits = append(limits, life.Limit{Name: n, Diameter: quantity.Micrometre(rapid.IntRange(1, 10_000_000).Draw(t, string(n)))})
		}
		got, err := life.ScrapLimit(limits)
		if err != nil {
			t.Fatal(err)
		}
		found := false
		for _, l := range limits {
			if l.Diameter > got.Diameter {
				t.Fatalf("%+v is tighter than %+v", l, got)
			}
			found = found || l == got
		}
		if !found {
			t.Fatalf("%+v is none of %+v", got, limits)
		}
	})
}

func TestScrapLimitRefusals(t *testing.T) {
	if _, err := life.ScrapLimit(nil); refusal.FieldsOf(err) == nil {
		t.Errorf("no limits: %v", err)
	}
	_, err := life.ScrapLimit([]life.Limit{{life.NominalScrap, 680_000}, {life.ShellDepth, -1}, {life.NeckFillet, 680_000_000}})
	fields := refusal.FieldsOf(err)
	if len(fields) != 2 || fields[0].Path != "limits/1/diameter_um" || fields[1].Path != "limits/2/diameter_um" {
		t.Errorf("got %v", err)
	}
	first, err := life.ScrapLimit([]life.Limit{{life.StackHeight, 680_000}, {life.NominalScrap, 680_000}})
	if err != nil || first.Name != life.StackHeight {
		t.Errorf("of equal limits the first is named: %+v, %v", first, err)
	}
}
