package caution_test

import (
	"slices"
	"strings"
	"testing"

	"barrelbook/api/app/caution"
	"barrelbook/domain/roll"
)

// TestCautionsApply holds each caution to where it applies, and to be left out
// where it does not.
func TestCautionsApply(t *testing.T) {
	plain := roll.State{Roll: roll.Roll{Number: "W1", Scrap: roll.ScrapLimits{ShellDepth: 650_000}}, Diameter: 700_000, Hardness: 70}
	hard, cracked, owes := plain, plain, plain
	hard.Hardness = 95
	cracked.Defects = []roll.Defect{{Kind: roll.Ultrasonic, DepthUM: 300}}
	owes.Owed = []roll.Owed{{Kind: roll.EddyCurrent, Due: true}}
	for _, c := range []struct {
		name    string
		got     []string
		says    []string
		without []string
	}{
		{"a grind", caution.ForGrind(plain, 699_000), []string{caution.Grind, caution.Wheel, caution.Necks, caution.Blows}, []string{caution.FullLoad, caution.ColdRoll, caution.Below, caution.Crack}},
		{"a hardened roll", caution.ForGrind(hard, 699_000), []string{caution.ColdRoll}, nil},
		{"a cracked roll", caution.ForGrind(cracked, 699_000), []string{caution.Crack, caution.FullLoad}, nil},
		{"a roll that owes a crack test", caution.ForGrind(owes, 699_000), []string{caution.Suspect, caution.FullLoad}, nil},
		{"to below the shell", caution.ForGrind(plain, 649_999), []string{caution.Below}, nil},
		{"a change", caution.ForChange([]roll.State{plain}, []roll.State{plain}), []string{caution.Stand, caution.Warm, caution.Necks, caution.WarmUp}, []string{caution.ColdRoll}},
		{"rolls out, none in", caution.ForChange([]roll.State{plain}, nil), nil, []string{caution.WarmUp}},
		{"hardened rolls in", caution.ForChange(nil, []roll.State{hard}), []string{caution.ColdRoll}, nil},
		{"out of a cobble", caution.ForChange([]roll.State{plain, owes}, nil), []string{caution.Burst + ": W1."}, nil},
		{"a spall", caution.ForMishap(roll.Spall), []string{caution.Crack, caution.Rest}, nil},
		{"a quench", caution.ForMishap(roll.CoolingLoss), []string{caution.Rest}, []string{caution.Crack}},
		{"a bruise", caution.ForMishap(roll.Bruise), nil, []string{caution.Rest, caution.Crack}},
	} {
		for _, want := range c.says {
			if !slices.Contains(c.got, want) {
				t.Errorf("%s does not say %q: %q", c.name, want, c.got)
			}
		}
		for _, not := range c.without {
			if slices.ContainsFunc(c.got, func(s string) bool { return strings.HasPrefix(s, not) }) {
				t.Errorf("%s says %q", c.name, not)
			}
		}
	}
	for _, s := range append(caution.ForGrind(cracked, 0), caution.Texturing) {
		if strings.Contains(strings.ToLower(s), "safe") {
			t.Errorf("%q", s)
		}
	}
}
