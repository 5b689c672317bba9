package roll_test

import (
	"testing"

	"barrelbook/domain/roll"
)

// history is a roll with two campaigns: 1 received day 0, 2 ground 1, 3 paired
// 2, 4 in 3, 5 out 4, 6 ground 5, 7 in 6, 8 out 7, 9 ground 8, 10 in 9.
func history() []step {
	return and(worn(), step{5, reground(748_900, 748_500), ""}, step{6, mounted(), ""}, step{7, withdrawn(), ""},
		step{8, reground(748_300, 748_000), ""}, step{9, mounted(), ""})
}

func TestLateEntriesTaken(t *testing.T) {
	for name, c := range map[string]struct {
		late  step
		check func(roll.State) bool
	}{
		"a look":                    {step{4.5, looked(roll.HardnessTest, roll.Passed), ""}, func(s roll.State) bool { return s.LastAt.Equal(day(9)) && s.Entries == 11 }},
		"a grind between two":       {step{5.5, reground(748_450, 748_400), ""}, func(s roll.State) bool { return s.Regrinds == 4 && s.Diameter == 748_000 && s.Marks.Ground == 9 }},
		"a correction in between":   {step{4.5, roll.Corrected{Entry: 6, With: reground(748_850, 748_500)}, "misread"}, func(s roll.State) bool { return s.Diameter == 748_000 }},
		"at the moment of the last": {step{9, roll.Held{}, "noise"}, func(s roll.State) bool { return s.HeldFor == "noise" }},
		"an overload two mounts ago": {step{3.5, incident(roll.Overload), ""}, func(s roll.State) bool {
			return due(s) == "visual ultrasonic" && s.Stage == roll.StageMounted && s.Owed[0].Entry == 11
		}},
		"a cobble two mounts ago":      {step{3.5, incident(roll.Cobble), ""}, func(s roll.State) bool { return due(s) == "eddy_current" && s.Owed[0].CampaignsToCome == 3 }},
		"a failed test before it went": {step{5.5, looked(roll.EddyCurrent, roll.Failed), ""}, func(s roll.State) bool { return len(s.Failed) == 1 && s.Stage == roll.StageMounted }},
		"an unknown one":               {step{8.5, looked(roll.Ultrasonic, roll.Unknown), ""}, func(s roll.State) bool { return due(s) == "ultrasonic" && s.Owed[0].Unknown }},
	} {
		t.Run(name, func(t *testing.T) {
			b := open(t, history()...)
			must(t, b, c.late)
			if !c.check(b.state) {
				t.Errorf("state %+v", b.state)
			}
			replays(t, b)
		})
	}
}

// TestOutBeforeItsMishap: what came out before a cobble cannot have been cobbled.
func TestOutBeforeItsMishap(t *testing.T) {
	b := open(t, and(inStand(), step{4, roll.Incident{Name: "i", What: roll.Cobble, Stand: "F1"}, ""})...)
	refused(t, b.write(step{3.5, withdrawn(), ""}), 5, "", `contradict the entry "incident" of 2026-01-09`, "not in F1 when the cobble happened", "check the moment")
	must(t, b, step{4.5, withdrawn(), ""})
	replays(t, b)
}

func TestLateEntriesRefused(t *testing.T) {
	for name, c := range map[string]struct {
		late     step
		inTheWay int64
		field    string
		words    []string
	}{
		"ground while it was in":              {step{6.5, reground(748_400, 748_200), ""}, 7, "", []string{"in F1 since 2026-01-11 06:00"}},
		"ground below what was found later":   {step{5.5, reground(748_300, 748_200), ""}, 9, "", []string{`contradict the entry "reground" of 2026-01-13`, "found 748.300", "748.200"}},
		"ground above what was ground before": {step{5.5, reground(748_950, 748_900), ""}, 0, "found_mm", []string{"748.950", "748.500"}},
		"the same regrind again, earlier":     {step{4.9, reground(748_900, 748_500), ""}, 6, "", []string{`contradict the entry "reground"`, "the same regrind", "correct that entry first"}},
		"held over a mounting":                {step{5.5, roll.Held{}, "crack"}, 7, "", []string{`contradict the entry "mounted" of 2026-01-11 06:00`, "held: crack", "check the moment"}},
		"held over a regrind":                 {step{4.5, roll.Held{}, "crack"}, 6, "", []string{`contradict the entry "reground"`, "held: crack"}},
		"scrapped in the middle":              {step{0.5, roll.Scrapped{Why: roll.ByCrack}, "crack"}, 2, "", []string{`contradict the entry "reground"`, "scrapped on 2026-01-05 18:00"}},
		"set broken before it was mounted":    {step{2.5, unpaired("A"), ""}, 4, "", []string{`contradict the entry "mounted" of 2026-01-08`, "not in a set"}},
		"withdrawn a second time":             {step{4.5, withdrawn(), ""}, 5, "", []string{"not in a stand"}},
		"withdrawn before it came out":        {step{3.5, withdrawn(), ""}, 5, "", []string{`contradict the entry "withdrawn" of 2026-01-09`, "not in a stand"}},
		"mounted while it was in":             {step{3.5, mounted(), ""}, 4, "", []string{"in F1 since 2026-01-08"}},
		"mounted in between":                  {step{5.5, mounted(), ""}, 7, "", []string{`contradict the entry "mounted"`, "in F1 since 2026-01-10 18:00"}},
		"tested while it was in":              {step{6.5, looked(roll.Ultrasonic, roll.Passed), ""}, 7, "", []string{"in F1 since 2026-01-11", "moment the test was made"}},
		"a cobble where it was not":           {step{5.5, roll.Incident{Name: "i", What: roll.Cobble, Stand: "F1"}, ""}, 5, "", []string{"not in F1 when the cobble happened"}},
		"a cobble in another stand":           {step{6.5, roll.Incident{Name: "i", What: roll.Cobble, Stand: "F2"}, ""}, 7, "", []string{"not in F2 when the cobble happened"}},
		"before the receipt":                  {step{-0.1, incident(roll.Bruise), ""}, 1, "", []string{"before the roll's receipt of 2026-01-05 06:00"}},
	} {
		t.Run(name, func(t *testing.T) {
			b := open(t, history()...)
			state := b.state
			refused(t, b.write(c.late), c.inTheWay, c.field, c.words...)
			same(t, b.state, state)
			replays(t, b)
		})
	}
}

// TestLateMishapIsOwedFromNow follows a cobble that is told of when the roll
// has been ground, passed nothing, and gone out again: nothing already done is
// unmade, and what comes next waits for the test.
func TestLateMishapIsOwedFromNow(t *testing.T) {
	b := open(t, history()...)
	must(t, b, step{3.5, incident(roll.Cobble), ""}) // entry 11, in the first of three campaigns
	must(t, b, step{10, withdrawn(), ""})
	must(t, b, step{11, reground(747_800, 747_500), ""})
	refused(t, b.write(step{12, mounted(), ""}), 11, "", "eddy current test is owed since the cobble of 2026-01-08 18:00")
	must(t, b, step{12, looked(roll.EddyCurrent, roll.Passed), ""})
	must(t, b, step{13, mounted(), ""})
	replays(t, b)
	// Campaigns are watched from the test on: those run untested do not count.
	must(t, b, step{14, withdrawn(), ""})
	if o := b.state.Owed; len(o) != 1 || !o[0].Due || o[0].CampaignsToCome != 2 {
		t.Errorf("after the first campaign since the test: %+v", o)
	}
}

// TestLateMishapPaidInBetween: a test that was passed after the mishap and
// before it was told of counts.
func TestLateMishapPaidInBetween(t *testing.T) {
	b := open(t, and(worn(), step{5, with(reground(748_900, 748_500), passed(roll.EddyCurrent)), ""}, step{6, mounted(), ""})...)
	must(t, b, step{3.5, incident(roll.Cobble), ""})
	if due(b.state) != "" || b.state.Owed[0].CampaignsToCome != 3 {
		t.Fatalf("owed %+v, want the watch only", b.state.Owed)
	}
	must(t, b, step{7, withdrawn(), ""})
	if due(b.state) != "eddy_current" {
		t.Errorf("after the campaign: %+v", b.state.Owed)
	}
	replays(t, b)
}

// TestLateMishapHidesNoOlderDebt: a mishap told of late does not let a
// mounting through that an older debt forbids.
func TestLateMishapHidesNoOlderDebt(t *testing.T) {
	b := open(t, and(inStand(), step{3.5, incident(roll.Cobble), ""}, step{4, withdrawn(), ""},
		step{5, with(reground(748_900, 748_500), passed(roll.EddyCurrent)), ""}, step{6, mounted(), ""})...)
	must(t, b, step{3.2, incident(roll.Cobble), ""}) // entry 9
	// Withdrawing the test on which the mounting rests is refused, late mishap or not.
	refused(t, b.write(step{7, correct(7, reground(748_900, 748_500)), "tested another roll"}), 8, "",
		`contradict the entry "mounted"`, "eddy current test is owed since the cobble of 2026-01-08 18:00")
}

// TestLateUnknownResultUnmakesNoRelease is the same for a release.
func TestLateUnknownResultUnmakesNoRelease(t *testing.T) {
	b := open(t, and(ready(), step{3, roll.Held{}, "echo"}, step{5, roll.Released{}, "nothing found"})...)
	must(t, b, step{4, looked(roll.Ultrasonic, roll.Unknown), ""})
	if b.state.HeldFor != "" || due(b.state) != "ultrasonic" {
		t.Errorf("held for %q, due %q", b.state.HeldFor, due(b.state))
	}
	replays(t, b)
}
