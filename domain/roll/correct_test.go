package roll_test

import (
	"errors"
	"testing"
	"time"

	"barrelbook/domain/roll"
)

func correct(entry int64, body roll.Body) roll.Corrected {
	return roll.Corrected{Entry: entry, With: body}
}

func moved(entry int64, body roll.Body, to float64) roll.Corrected {
	return roll.Corrected{Entry: entry, With: body, At: day(to)}
}

func TestCorrections(t *testing.T) {
	cancelled := and(worn(), step{5, reground(748_900, 748_500), ""})
	for name, c := range map[string]struct {
		steps []step
		check func(roll.State) bool
	}{
		"a regrind": {and(cancelled, step{6, correct(6, reground(748_900, 748_400)), "misread"}), func(s roll.State) bool {
			return s.Diameter == 748_400 && s.Regrinds == 2 && s.GroundAt.Equal(day(5)) && s.Marks.Ground == 7 && s.Entries == 7
		}},
		"the correction": {and(cancelled, step{6, correct(6, reground(748_900, 748_400)), "misread"}, step{7, correct(7, reground(748_900, 748_300)), "misread again"}),
			func(s roll.State) bool { return s.Diameter == 748_300 && s.Regrinds == 2 }},
		"a chain of three, the moment kept on the way": {and(cancelled, step{6, moved(6, reground(748_900, 748_400), 4.5), "wrong day"},
			step{7, correct(7, reground(748_900, 748_300)), "misread"}, step{8, correct(8, reground(748_900, 748_200)), "misread"}),
			func(s roll.State) bool {
				return s.Diameter == 748_200 && s.GroundAt.Equal(day(4.5)) && s.LastAt.Equal(day(4.5))
			}},
		"a regrind withdrawn":     {and(cancelled, step{6, correct(6, nil), "another roll"}), func(s roll.State) bool { return s.Diameter == 749_000 && s.Stage == roll.StageWorn && s.Regrinds == 1 }},
		"a correction withdrawn":  {and(cancelled, step{6, correct(6, reground(748_900, 748_400)), "misread"}, step{7, correct(7, nil), "not at all"}), func(s roll.State) bool { return s.Stage == roll.StageWorn }},
		"withdrawn and told anew": {and(cancelled, step{6, correct(6, nil), "another roll"}, step{7, reground(748_800, 748_000), ""}), func(s roll.State) bool { return s.Diameter == 748_000 && s.Regrinds == 2 }},
		"the same regrind anew":   {and(cancelled, step{6, correct(6, nil), "another roll"}, step{7, reground(748_900, 748_500), ""}), func(s roll.State) bool { return s.Regrinds == 2 }},
		"a hold withdrawn":        {and(ready(), step{3, roll.Held{}, "crack"}, step{4, correct(4, nil), "other roll"}), func(s roll.State) bool { return s.HeldFor == "" }},
		"a scrapping withdrawn":   {[]step{{0, received(), ""}, {1, roll.Scrapped{Why: roll.ByNeck}, "neck"}, {2, correct(2, nil), "other roll"}}, func(s roll.State) bool { return s.Stage == roll.StageNew && s.ScrapWhy == "" }},
		"an incident withdrawn":   {and(ready(), step{3, incident(roll.Cobble), ""}, step{4, correct(4, nil), "other stand"}), func(s roll.State) bool { return len(s.Owed) == 0 }},
		"what a mishap was":       {and(ready(), step{3, incident(roll.Bruise), ""}, step{4, correct(4, incident(roll.Cobble)), "it was a cobble"}), func(s roll.State) bool { return due(s) == "eddy_current" }},
		"a moment moved past another entry": {and(ready(), step{3, looked(roll.Ultrasonic, roll.Passed), ""}, step{4, looked(roll.Ultrasonic, roll.Failed), ""}, step{5, moved(4, looked(roll.Ultrasonic, roll.Passed), 4.5), "wrong day"}),
			func(s roll.State) bool { return len(s.Failed) == 0 }},
		"the receipt": {append([]step{{0, received(), ""}}, step{1, correct(1, cameGround()), "came ground"}, step{2, paired("A"), ""}), func(s roll.State) bool { return s.Stage == roll.StagePaired }},
		"the last entry, and the book goes on from the one before": {and(ready(), step{9, looked(roll.Visual, roll.Passed), ""}, step{10, correct(4, nil), "other roll"}, step{3, mounted(), ""}),
			func(s roll.State) bool { return s.LastAt.Equal(day(3)) && s.Stage == roll.StageMounted }},
	} {
		t.Run(name, func(t *testing.T) {
			b := open(t, c.steps...)
			if !c.check(b.state) {
				t.Errorf("state %+v", b.state)
			}
			replays(t, b)
		})
	}
}

func TestCorrectionsRefused(t *testing.T) {
	twice := and(ready(), step{3, correct(2, reground(750_000, 748_500)), "misread"})
	ran := and(worn(), step{5, reground(748_900, 748_500), ""}, step{6, mounted(), ""})
	for name, c := range map[string]struct {
		before   []step
		entry    step
		inTheWay int64
		field    string
		words    []string
	}{
		"an entry to come":                      {ready(), step{3, correct(4, nil), "x"}, 0, "", []string{"entry 4, which is not in the book"}},
		"entry 0":                               {ready(), step{3, correct(0, nil), "x"}, 0, "", []string{"entry 0"}},
		"an entry corrected already":            {twice, step{4, correct(2, nil), "x"}, 4, "", []string{"entry 2 has been corrected already", "correct entry 4 instead"}},
		"a withdrawal":                          {and(ready(), step{3, looked(roll.Visual, roll.Passed), ""}, step{4, correct(4, nil), "x"}), step{5, correct(5, looked(roll.Visual, roll.Failed)), "x"}, 5, "", []string{"entry 5 withdrew another one", "as a new entry"}},
		"the receipt withdrawn":                 {ready(), step{3, correct(1, nil), "x"}, 1, "", []string{"cannot be withdrawn"}},
		"a regrind into a scrapping":            {ready(), step{3, correct(2, roll.Scrapped{Why: roll.ByCrack}), "x"}, 2, "", []string{`"reground"`, `"scrapped"`}},
		"a regrind into a correction":           {ready(), step{3, correct(2, correct(1, nil)), "x"}, 2, "", []string{`"corrected"`}},
		"without a reason":                      {ready(), step{3, correct(2, nil), ""}, 0, "reason", []string{"needs a reason"}},
		"ground above found, in the correction": {ready(), step{3, correct(2, reground(748_000, 748_500)), "x"}, 0, "ground_mm", []string{"748.500", "748.000"}},
		"found above the diameter before it":    {ran, step{7, correct(6, reground(749_500, 748_500)), "x"}, 0, "found_mm", []string{"749.500", "749.000"}},
		"the first grind below the second's":    {ran, step{7, correct(2, reground(750_000, 748_800)), "x"}, 6, "", []string{`contradict the entry "reground" of 2026-01-10`, "found 748.900", "748.800"}},
		"the grind before a mounting withdrawn": {ran, step{7, correct(6, nil), "x"}, 7, "", []string{`contradict the entry "mounted" of 2026-01-11`, "1 campaign since it was ground"}},
		"the first grind withdrawn":             {ran, step{7, correct(2, nil), "x"}, 3, "", []string{`contradict the entry "paired"`, "not been ground to profile"}},
		"a grind moved before the withdrawal":   {ran, step{7, moved(6, reground(748_900, 748_500), 3.5), "x"}, 4, "", []string{"in F1 since 2026-01-08"}},
		"a grind moved before the receipt":      {ready(), step{7, moved(2, reground(750_000, 749_000), -1), "x"}, 0, "", []string{"before the roll's receipt"}},
	} {
		t.Run(name, func(t *testing.T) {
			b := open(t, c.before...)
			state := b.state
			refused(t, b.write(c.entry), c.inTheWay, c.field, c.words...)
			same(t, b.state, state)
			replays(t, b)
		})
	}
}

func TestReplayUntilTellsThePast(t *testing.T) {
	b := open(t, and(worn(), step{5, reground(748_900, 748_500), ""}, step{8, moved(6, reground(748_900, 748_400), 6), "misread, and a day later"})...)
	for _, c := range []struct {
		at       float64
		stage    roll.Stage
		diameter int64
	}{
		{-1, "", 0}, {0, roll.StageNew, 750_000}, {0.99, roll.StageNew, 750_000}, {1, roll.StageGround, 749_000},
		{2.5, roll.StagePaired, 749_000}, {3, roll.StageMounted, 749_000}, {4, roll.StageWorn, 749_000},
		{5.5, roll.StageWorn, 749_000}, {6, roll.StagePaired, 748_400}, {1000, roll.StagePaired, 748_400},
	} {
		s, err := roll.ReplayUntil(b.entries, day(c.at))
		if err != nil || s.Stage != c.stage || int64(s.Diameter) != c.diameter {
			t.Errorf("day %g: %s of %s (%v), want %s of %d µm", c.at, s.Stage, s.Diameter, err, c.stage, c.diameter)
		}
	}
}

// TestReplayOfABookThatCannotBe: books come from a file, too.
func TestReplayOfABookThatCannotBe(t *testing.T) {
	b := open(t, worn()...)
	swapped := append([]roll.Entry(nil), b.entries...)
	swapped[3].At, swapped[4].At = swapped[4].At, swapped[3].At
	var c *roll.Conflict
	if _, err := roll.Replay(swapped); !errors.As(err, &c) || c.Entry.Number != 5 {
		t.Errorf("withdrawn before mounted: %v, want a conflict of entry 5", err)
	}
	if _, err := roll.Replay([]roll.Entry{{Roll: number, Number: 1, At: day(0), Body: strange{}}}); err == nil {
		t.Error("a body of unknown kind was read")
	}
	if s, err := roll.Replay(nil); err != nil || s.Stage != "" || !s.LastAt.Equal(time.Time{}) {
		t.Errorf("an empty book: %+v %v", s, err)
	}
}

type strange struct{}

func (strange) Kind() roll.Kind { return "strange" }
