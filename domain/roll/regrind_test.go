package roll_test

import (
	"strings"
	"testing"

	"barrelbook/domain/quantity"
	"barrelbook/domain/roll"
)

// TestSlipsAreGuessed checks that a diameter far from the one expected is
// refused with the mistake behind it. The last ground diameter is 749.000.
func TestSlipsAreGuessed(t *testing.T) {
	for name, c := range map[string]struct {
		found, ground quantity.Micrometre
		field, guess  string
	}{
		"radius for found":                        {374_400, 748_300, "found_mm", "it looks like a radius"},
		"radius for both":                         {374_400, 374_150, "found_mm", "it looks like a radius"},
		"radius for ground":                       {748_800, 374_150, "ground_mm", "it looks like a radius"},
		"inches for found":                        {29_480, 748_300, "found_mm", "it looks like inches"},
		"inches for ground":                       {748_800, 29_460, "ground_mm", "it looks like inches"},
		"decimal point to the right":              {7_488_000, 748_300, "found_mm", "it looks like a slipped decimal point"},
		"decimal point to the left":               {74_880, 74_830, "found_mm", "it looks like a slipped decimal point"},
		"two digits changed, found low":           {478_800, 748_300, "found_mm", "it looks as if two digits changed places"},
		"two digits changed, found high":          {784_800, 748_300, "found_mm", "it looks as if two digits changed places"},
		"two digits changed in ground":            {748_800, 478_300, "ground_mm", "it looks as if two digits changed places"},
		"a slip that none of these explains":      {612_345, 612_000, "found_mm", "check the reading and its unit"},
		"a plausible diameter, above last ground": {749_500, 748_300, "found_mm", "measure again"},
	} {
		t.Run(name, func(t *testing.T) {
			b := open(t, ready()...)
			err := b.write(step{3, reground(c.found, c.ground), ""})
			refused(t, err, 0, c.field, c.guess, " mm")
			if !strings.HasPrefix(c.guess, "it looks") && strings.Contains(err.Error(), "it looks") {
				t.Errorf("a guess was made: %v", err)
			}
		})
	}
}

// TestFoundIsComparedAsCorrected takes a found diameter that was read warm:
// the rules hold the one at shop temperature against the book, the guess at a
// slip and the double look at what the gauge showed.
func TestFoundIsComparedAsCorrected(t *testing.T) {
	warm := reground(748_950, 748_500)
	warm.FoundAsRead, warm.AboveShopK = 749_120, 19
	b := open(t, and(ready(), step{3, warm, ""})...)
	if b.state.Diameter != 748_500 {
		t.Fatalf("ground %s", b.state.Diameter)
	}
	again := warm
	again.Found = 748_400 // another temperature was given for the same reading
	refused(t, b.write(step{4, again, ""}), 4, "", "same regrind, found 749.120")
}

// TestGrindIsAccountedFor follows the stock through a normal, an incident and
// a crack grind.
func TestGrindIsAccountedFor(t *testing.T) {
	crown, taper := -250.0, 8.0
	first := reground(750_000, 749_000)
	first.CrownUM, first.TaperUM = &crown, &taper
	second := reground(748_700, 747_000)
	second.For = roll.ForIncident
	third := reground(747_000, 745_500)
	third.For = roll.ForCrack
	third.Tests = []roll.Test{{Kind: roll.HardnessTest, Outcome: roll.Passed, Hardness: 76}}
	b := open(t, step{0, received(), ""}, step{1, first, ""}, step{2, second, ""}, step{3, third, ""})
	s := b.state
	if s.StockRemoved != 4_500 || s.IncidentStock != 3_500 || s.Regrinds != 3 {
		t.Errorf("stock removed %s of which %s by incidents in %d grinds, want 4.500, 3.500, 3", s.StockRemoved, s.IncidentStock, s.Regrinds)
	}
	if s.CrownUM != -250 || s.TaperUM != nil || s.Hardness != 76 {
		t.Errorf("crown %g taper %v hardness %g: a crown stays until another is measured, a taper is that of the last grind", s.CrownUM, s.TaperUM, s.Hardness)
	}
	if got := s.StockLeft(); got != 55_500 {
		t.Errorf("stock left %s above the shell depth 690, want 55.500", got)
	}
}

// TestTightestLimitRules goes through the seven limits: each rules where it is
// the greatest, and is named.
func TestTightestLimitRules(t *testing.T) {
	for name, limits := range map[string]roll.ScrapLimits{
		"nominal scrap diameter": {Nominal: 690, ShellDepth: 680, HardenedDepth: 1},
		"shell depth":            {Nominal: 680, ShellDepth: 690, SpeedRange: 600},
		"hardened depth":         {Nominal: 680, HardenedDepth: 690},
		"stack height":           {Nominal: 680, StackHeight: 690},
		"neck fillet":            {Nominal: 680, NeckFillet: 690, StackHeight: 689},
		"drive angle":            {Nominal: 680, DriveAngle: 690},
		"speed range":            {Nominal: 680, SpeedRange: 690},
	} {
		if at, got := limits.Tightest(); at != 690 || got != name {
			t.Errorf("%+v: %d by %s, want 690 by %s", limits, at, got, name)
		}
	}
}
