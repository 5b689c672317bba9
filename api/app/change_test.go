package app_test

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"barrelbook/api/app/gather"
	"barrelbook/api/app/port"
	"barrelbook/api/app/record"
	"barrelbook/domain/chock"
	"barrelbook/domain/mill"
	"barrelbook/domain/practice"
	"barrelbook/domain/roll"
)

// at is hours after the start of the works.
func at(hours float64) time.Time { return start.Add(time.Duration(hours * float64(time.Hour))) }

func TestChangesRefused(t *testing.T) {
	t.Parallel()
	in := func(set string) record.ChangeInput {
		return record.ChangeInput{Stand: "F5", Role: mill.Work, SetIn: set}
	}
	incident := func(what roll.What) func(*works) {
		return func(w *works) {
			_, err := w.RecordIncident(w.ctx, engineer, record.IncidentInput{What: what, Roll: "NEXT-B"})
			w.must(err)
		}
	}
	looked := func(kind roll.TestKind, outcome roll.Outcome) roll.Inspected {
		return roll.Inspected{Tests: []roll.Test{{Kind: kind, Outcome: outcome}}}
	}
	for name, c := range map[string]struct {
		before func(*works)
		in     record.ChangeInput
		kind   port.Kind
		field  string
		words  []string
	}{
		"at a stand nobody knows":       {nil, record.ChangeInput{Stand: "F9", Role: mill.Work, SetIn: "NEXT"}, port.NotFound, "", []string{"F9", "listStands"}},
		"of a set nobody knows":         {nil, in("XX"), port.NotFound, "", []string{"XX", "listSets"}},
		"of rolls without a place":      {nil, record.ChangeInput{Stand: "F5", Role: mill.Intermediate, SetIn: "NEXT"}, port.Impossible, "role", []string{"no place in F5"}},
		"of a set of another role":      {nil, record.ChangeInput{Stand: "F6", Role: mill.Work, SetIn: "BU"}, port.Impossible, "set_in", []string{"is a set of backup rolls"}},
		"of nothing":                    {nil, record.ChangeInput{Stand: "F6", Role: mill.Work}, port.Conflicting, "", []string{"no work roll in F6"}},
		"in the future":                 {nil, record.ChangeInput{Stand: "F5", Role: mill.Work, SetIn: "NEXT", At: at(48.1)}, port.Impossible, "at", []string{"in the future"}},
		"of the set that is in":         {nil, in("OLD"), port.Conflicting, "", []string{"set OLD is in F5 already"}},
		"of a set in another stand":     {func(w *works) { w.change(record.ChangeInput{Stand: "F6", Role: mill.Work, SetIn: "NEXT"}) }, in("NEXT"), port.Conflicting, "", []string{"set NEXT is in F6"}},
		"at the moment they went in":    {nil, record.ChangeInput{Stand: "F5", Role: mill.Work, SetIn: "NEXT", At: at(24)}, port.Conflicting, "", []string{"set OLD is in it since 2031-03-04 06:00"}},
		"out, before they went in":      {nil, record.ChangeInput{Stand: "F5", Role: mill.Work, At: at(23)}, port.Conflicting, "", []string{"no work roll in F5 to take out"}},
		"of a broken set":               {func(w *works) { w.breakSet("NEXT") }, in("NEXT"), port.Conflicting, "", []string{"set NEXT was broken on 2031-03-05", "listSets"}},
		"of a pair out of tolerance":    {func(w *works) { w.regrind("NEXT-B", 714_900, 714_700) }, in("NEXT"), port.Conflicting, "", []string{"715.000", "714.700", "differ by 0.300", "tolerance is 0.150", "grind NEXT-T by at least 0.150"}},
		"of a set for another stand":    {func(w *works) { w.set("ONLY6", mill.Work, 715, "F6") }, in("ONLY6"), port.Impossible, "set_in", []string{"does not serve F5 (roll ONLY6-T)", "listSets ready=true"}},
		"of a roll still warm":          {func(w *works) { w.outAndGround(1 * time.Hour) }, in("OLD"), port.Conflicting, "", []string{"still warm within the 12 h", "may go in from 2031-03-05 18:00"}},
		"of a worn set":                 {func(w *works) { w.change(in("SPARE")); w.pass(48 * time.Hour) }, in("OLD"), port.Conflicting, "", []string{"1 campaign since it was ground", "adviseRegrind roll=OLD-T"}},
		"of a held roll":                {func(w *works) { w.happens("NEXT-B", "crack?", roll.Held{}) }, in("NEXT"), port.Conflicting, "", []string{"roll NEXT-B", "held: crack?", "releaseRoll roll=NEXT-B"}},
		"with an eddy current owed":     {incident(roll.Cobble), in("NEXT"), port.Conflicting, "", []string{"eddy current test is owed since the cobble", "recordInspection roll=NEXT-B tests.test=eddy_current"}},
		"with a test that nobody knows": {func(w *works) { w.happens("NEXT-T", "", looked(roll.Ultrasonic, roll.Unknown)) }, in("NEXT"), port.Conflicting, "", []string{"ultrasonic test has no known result"}},
		"with a failed test":            {func(w *works) { w.happens("NEXT-T", "", looked(roll.EddyCurrent, roll.Failed)) }, in("NEXT"), port.Conflicting, "", []string{"eddy current test failed", "test again"}},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			w := shop(t)
			if c.before != nil {
				c.before(w)
			}
			if c.in.At.IsZero() {
				w.pass(time.Minute)
			}
			w.refused(c.kind, c.field, c.words, func() error {
				_, err := w.RecordChange(w.ctx, engineer, c.in)
				return err
			})
		})
	}
}

func (w *works) breakSet(name string) gather.SetView {
	w.t.Helper()
	v, err := w.Set(w.ctx, name)
	w.must(err)
	call := engineer
	call.IfVersion = v.Version
	if v, err = w.BreakSet(w.ctx, call, name, time.Time{}, "not needed"); err != nil {
		w.t.Fatal(err)
	}
	return v
}

// outAndGround takes OLD out and grinds it d later.
func (w *works) outAndGround(d time.Duration) {
	w.t.Helper()
	w.change(record.ChangeInput{Stand: "F5", Role: mill.Work, SetIn: "SPARE"})
	w.pass(d)
	w.regrind("OLD-T", 719_900, 719_500)
	w.regrind("OLD-B", 719_850, 719_450)
}

// TestUnpairedRollsHaveNoWayIn: a change names a set, and a set whose rolls are
// apart is broken; the books hold the same from their side.
func TestUnpairedRollsHaveNoWayIn(t *testing.T) {
	t.Parallel()
	w := shop(t)
	w.refused(port.NotFound, "", []string{"FREE"}, func() error {
		_, err := w.RecordChange(w.ctx, engineer, record.ChangeInput{Stand: "F6", Role: mill.Work, SetIn: "FREE"})
		return err
	})
}

func TestChangeMovesWhatItShould(t *testing.T) {
	t.Parallel()
	w := shop(t)
	v := w.change(record.ChangeInput{Stand: "F5", Role: mill.Work, SetIn: "NEXT", Why: roll.Wear, StatedT: 2000, StatedKM: 40, StatedSpecificKNPerMM: 9, Note: "as planned"})
	if v.SetOut != "OLD" || v.SetIn != "NEXT" || v.Why != roll.Wear || len(v.Out) != 2 || len(v.In) != 2 || v.By != "engineer" {
		t.Fatalf("%+v", v)
	}
	if u := v.Out[0].Usage; u.TonnageT != 2000 || u.RolledKM != 40 || u.ExposureKM != 36 || !u.Stated {
		t.Errorf("stated usage %+v", u)
	}
	for number, stage := range map[string]roll.Stage{"OLD-T": roll.StageWorn, "OLD-B": roll.StageWorn, "NEXT-T": roll.StageMounted, "NEXT-B": roll.StageMounted, "BU-T": roll.StageMounted} {
		if v, err := w.Roll(w.ctx, number); err != nil || v.State.Stage != stage || (stage == roll.StageMounted) != (v.Mounting != nil) {
			t.Errorf("%s is %s with mounting %v (%v), want %s", number, v.State.Stage, v.Mounting, err, stage)
		}
	}
	stand, err := w.Stand(w.ctx, "F5")
	w.must(err)
	var who []string
	for _, p := range stand.Positions {
		who = append(who, string(p.Position)+" "+p.Mounting.Roll)
	}
	if got := strings.Join(who, ", "); got != "top_backup BU-T, top_work NEXT-T, bottom_work NEXT-B, bottom_backup BU-B" || stand.Stack != 715_000+714_950+1_480_000+1_479_950 {
		t.Errorf("in F5: %s, stack %s", got, stand.Stack)
	}
	for name, want := range map[string]struct {
		stand   string
		version int64
	}{"OLD": {"", 3}, "NEXT": {"F5", 2}, "SPARE": {"", 1}} {
		if s, err := w.Set(w.ctx, name); err != nil || s.Stand != want.stand || s.Version != want.version {
			t.Errorf("set %s is in %q at version %d (%v), want %q at %d", name, s.Stand, s.Version, err, want.stand, want.version)
		}
	}
	w.sound()
}

// TestStaleSet: each thing done to a set is a version, and one done to an old
// version is refused.
func TestStaleSet(t *testing.T) {
	t.Parallel()
	w := shop(t)
	read, err := w.Set(w.ctx, "NEXT")
	w.must(err)
	w.change(record.ChangeInput{Stand: "F6", Role: mill.Work, SetIn: "NEXT"})
	w.pass(time.Hour)
	w.change(record.ChangeInput{Stand: "F6", Role: mill.Work})
	call := engineer
	call.IfVersion = read.Version
	w.refused(port.Stale, "", []string{"version 1, it is now 3", "getSet set=NEXT"}, func() error {
		_, err := w.BreakSet(w.ctx, call, "NEXT", time.Time{}, "old news")
		return err
	})
	w.breakSet("NEXT")
	w.sound()
}

func TestStackIsSaid(t *testing.T) {
	t.Parallel()
	w := shop(t)
	s := mill.Stand{Name: "F7", Mill: "hot", Order: 7, Arrangement: mill.TwoHigh, MinStack: 1_431_000, MaxStack: 1_500_000}
	_, err := w.CreateStand(w.ctx, engineer, s)
	w.must(err)
	v := w.change(record.ChangeInput{Stand: "F7", Role: mill.Work, SetIn: "NEXT"})
	if all := strings.Join(v.Cautions, " "); !strings.Contains(all, "stack of 1429.950 mm; the least it can close on is 1431.000 mm") {
		t.Errorf("cautions %q", v.Cautions)
	}
	w.pass(time.Minute)
	w.set("BIG", mill.Work, 720)
	if v = w.change(record.ChangeInput{Stand: "F7", Role: mill.Work, SetIn: "BIG"}); strings.Contains(strings.Join(v.Cautions, " "), "stack") {
		t.Errorf("cautions %q within the limits", v.Cautions)
	}
	w.pass(time.Minute)
	w.set("HUGE", mill.Work, 760)
	if v = w.change(record.ChangeInput{Stand: "F7", Role: mill.Work, SetIn: "HUGE"}); !strings.Contains(strings.Join(v.Cautions, " "), "the most it has room for is 1500.000 mm") {
		t.Errorf("cautions %q", v.Cautions)
	}
}

// TestEachRollUnderItsOwnPractice: the two rolls of a set may be of different
// grades.
func TestEachRollUnderItsOwnPractice(t *testing.T) {
	t.Parallel()
	w := shop(t)
	_, err := w.CreateGrade(w.ctx, engineer, port.Grade{Name: "iron", Family: "high_chromium_iron"})
	w.must(err)
	_, err = w.ReceiveRoll(w.ctx, engineer, w.clock.now, roll.Received{Mill: "hot", Diameter: 715_000, Ground: true,
		Roll: roll.Roll{Number: "IRON", Role: mill.Work, Grade: "iron", NewDiameter: 715_000, BarrelLength: 1_780_000, Scrap: roll.ScrapLimits{Nominal: 640_000}}})
	w.must(err)
	w.practice("slow-iron", practice.Scope{Grade: "iron"}, map[practice.Key]float64{practice.CoolingH: 100, practice.CampaignsBetweenGrind: 5})
	w.practice("steel", practice.Scope{Grade: "steel"}, map[practice.Key]float64{practice.CampaignsBetweenGrind: 5})
	_, err = w.BuildSet(w.ctx, engineer, record.SetInput{Name: "MIX", Top: "FREE", Bottom: "IRON"})
	w.must(err)
	w.change(record.ChangeInput{Stand: "F6", Role: mill.Work, SetIn: "MIX"})
	w.pass(time.Hour)
	w.change(record.ChangeInput{Stand: "F6", Role: mill.Work})
	w.pass(50 * time.Hour) // the steel roll is cold, the iron one is not by its practice
	w.refused(port.Conflicting, "", []string{"roll IRON", "still warm within the 100 h"}, func() error {
		_, err := w.RecordChange(w.ctx, engineer, record.ChangeInput{Stand: "F6", Role: mill.Work, SetIn: "MIX"})
		return err
	})
}

// TestPracticeUnmakesNoMounting: a stricter practice holds from then on.
func TestPracticeUnmakesNoMounting(t *testing.T) {
	t.Parallel()
	w := shop(t)
	w.outAndGround(13 * time.Hour)
	w.change(record.ChangeInput{Stand: "F5", Role: mill.Work, SetIn: "OLD"})
	w.practice("slow", practice.Scope{}, map[practice.Key]float64{practice.CoolingH: 200})
	w.sound()
	in := grind(719_900, 719_480) // a late look at the same grind replays the book
	in.At = w.clock.now.Add(-30 * time.Minute)
	_, err := w.CorrectEntry(w.ctx, engineer, record.Correction{Number: "OLD-T", Entry: 5, Reason: "misread", Regrind: instead(in)})
	w.must(err)
	w.sound()
}

// TestSlightlyAheadIsNow: the clock of a terminal that runs ahead of ours does
// not put the books into the future.
func TestSlightlyAheadIsNow(t *testing.T) {
	t.Parallel()
	w := shop(t)
	v := w.change(record.ChangeInput{Stand: "F5", Role: mill.Work, SetIn: "NEXT", At: w.clock.now.Add(90 * time.Second)})
	if !v.At.Equal(w.clock.now) {
		t.Errorf("at %v, want now, %v", v.At, w.clock.now)
	}
	w.pass(time.Second)
	if v := w.change(record.ChangeInput{Stand: "F5", Role: mill.Work, SetIn: "SPARE"}); v.SetOut != "NEXT" {
		t.Errorf("took out %q a second later, want NEXT", v.SetOut)
	}
	w.sound()
}

func TestUndoChange(t *testing.T) {
	t.Parallel()
	w := shop(t)
	w.regrind("NEXT-T", 714_990, 714_980)
	before := w.standing()
	v := w.change(record.ChangeInput{Stand: "F5", Role: mill.Work, SetIn: "NEXT", Why: roll.Wear, StatedT: 2000.1, StatedKM: 40.3, StatedSpecificKNPerMM: 9})
	w.pass(time.Hour)
	undone, err := w.UndoChange(w.ctx, engineer, v.Name, "wrong stand")
	w.must(err)
	if !undone.UndoneAt.Equal(w.clock.now) || undone.UndoneBy != "engineer" || undone.UndoneWhy != "wrong stand" || len(undone.Out) != 2 || len(undone.In) != 2 {
		t.Errorf("%+v", undone)
	}
	if after := w.standing(); after != before {
		t.Errorf("after the undo:\n%s\nwas before the change:\n%s", after, before)
	}
	w.sound()
	list, _, err := w.Changes(w.ctx, "F5", port.Page{Limit: 10})
	w.must(err)
	if len(list) != 3 || list[0].Name != v.Name || list[0].UndoneWhy != "wrong stand" || !list[1].UndoneAt.IsZero() {
		t.Errorf("the register: %+v", list)
	}
	w.refused(port.Conflicting, "", []string{"was undone on 2031-03-05 07:00Z by engineer: wrong stand"}, func() error {
		_, err := w.UndoChange(w.ctx, engineer, v.Name, "again")
		return err
	})
	// The same again, done right, and undone, and done once more.
	for range 2 {
		w.pass(time.Minute)
		v = w.change(record.ChangeInput{Stand: "F5", Role: mill.Work, SetIn: "NEXT"})
		w.pass(time.Minute)
		_, err = w.UndoChange(w.ctx, engineer, v.Name, "wrong again")
		w.must(err)
	}
	w.pass(time.Minute)
	w.change(record.ChangeInput{Stand: "F6", Role: mill.Work, SetIn: "NEXT"})
	w.rollCoils(1, 5, "F5", "F6")
	for number, pieces := range map[string]int64{"OLD-T": 5, "NEXT-T": 5, "BU-T": 5} {
		if v, err := w.Roll(w.ctx, number); err != nil || v.Totals.Pieces != pieces || v.Mounting.Usage.Pieces != pieces || v.State.Campaigns != 0 {
			t.Errorf("%s bore %d pieces in %d campaigns (%v), want %d", number, v.Totals.Pieces, v.State.Campaigns, err, pieces)
		}
	}
	w.sound()
}

// standing is what the works is like, but for the books' length: rolls, sets,
// stands, totals.
func (w *works) standing() string {
	w.t.Helper()
	var all strings.Builder
	rolls, _, err := w.Rolls(w.ctx, port.RollFilter{}, port.Page{Limit: 100})
	w.must(err)
	for _, r := range rolls {
		s := r.State
		s.Entries, s.Marks, s.LastRegrind = 0, roll.Marks{}, nil
		r.Totals.Stated = false // it stays said of the whole life
		r.Totals.TonnageT, r.Totals.RolledKM, r.Totals.ExposureKM = round(r.Totals.TonnageT), round(r.Totals.RolledKM), round(r.Totals.ExposureKM)
		fmt.Fprintf(&all, "%+v %+v %v\n", s, r.Totals, r.Fitness.Word)
		mountings, _, err := w.Mountings(w.ctx, s.Roll.Number, port.Page{Limit: 10})
		w.must(err)
		fmt.Fprintf(&all, "%+v\n", mountings)
	}
	sets, _, err := w.Sets(w.ctx, port.SetFilter{}, nil, port.Page{Limit: 100})
	w.must(err)
	for _, s := range sets {
		fmt.Fprintln(&all, s.Name, s.Stand, s.BrokenAt, s.Fitness.Word)
	}
	return all.String()
}

func round(v float64) float64 { return float64(int64(v*1e6+0.5)) / 1e6 }

func TestUndoRefused(t *testing.T) {
	t.Parallel()
	look := func(w *works, kind roll.TestKind) {
		w.happens("OLD-T", "", roll.Inspected{Tests: []roll.Test{{Kind: kind, Outcome: roll.Passed}}})
	}
	for name, c := range map[string]struct {
		since func(*works, record.ChangeView)
		words []string
	}{
		"the roll that came out was ground, which the last of four books tells": {func(w *works, v record.ChangeView) { w.regrind("OLD-B", 719_900, 719_800) },
			[]string{"roll OLD-B", `contradict the entry "reground"`, "in F5 since 2031-03-04"}},
		"the roll that came out was tested": {func(w *works, v record.ChangeView) { look(w, roll.EddyCurrent) },
			[]string{"roll OLD-T", `contradict the entry "inspected"`, "no eddy current test"}},
		"the set that came out was broken": {func(w *works, v record.ChangeView) { w.breakSet("OLD") },
			[]string{`contradict the entry "unpaired"`, "set OLD is in F5"}},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			w := shop(t)
			v := w.change(record.ChangeInput{Stand: "F5", Role: mill.Work, SetIn: "NEXT"})
			w.pass(time.Hour)
			c.since(w, v)
			w.pass(time.Hour)
			w.refused(port.Conflicting, "", c.words, func() error {
				_, err := w.UndoChange(w.ctx, engineer, v.Name, "wrong stand")
				return err
			})
		})
	}
	w := shop(t)
	w.refused(port.NotFound, "", []string{"listChanges"}, func() error {
		_, err := w.UndoChange(w.ctx, engineer, "change-999999", "wrong stand")
		return err
	})
	v := w.change(record.ChangeInput{Stand: "F5", Role: mill.Work})
	w.refused(port.Impossible, "reason", nil, func() error {
		_, err := w.UndoChange(w.ctx, engineer, v.Name, " ")
		return err
	})
	call := engineer
	call.DryRun = true
	everything := w.everything()
	if dry, err := w.UndoChange(w.ctx, call, v.Name, "only asking"); err != nil || len(dry.Out) != 2 || w.everything() != everything {
		t.Errorf("a dry undo: %+v, %v", dry, err)
	}
	// Nothing went in; a visual look in the shop rests on nothing.
	look(w, roll.Visual)
	if _, err := w.UndoChange(w.ctx, engineer, v.Name, "it stayed in"); err != nil {
		t.Error(err)
	}
	w.sound()
}

// TestUndoFindsItsChocks: in a stand no chock goes on or off a set.
func TestUndoFindsItsChocks(t *testing.T) {
	t.Parallel()
	w := shop(t)
	_, err := w.AddChock(w.ctx, engineer, w.clock.now, chock.Chock{Name: "K1", Mill: "hot", Role: mill.Work, Bearing: "four-row taper"}, "")
	w.must(err)
	fit := func(set string, place chock.Place) {
		t.Helper()
		_, err := w.FitChock(w.ctx, engineer, "K1", record.FitInput{At: w.clock.now, Set: set, Place: place})
		w.must(err)
	}
	w.inspected("K1", roll.Passed)
	fit("NEXT", chock.TopDrive)
	v := w.change(record.ChangeInput{Stand: "F5", Role: mill.Work, SetIn: "NEXT"})
	w.pass(time.Hour)
	_, err = w.UndoChange(w.ctx, engineer, v.Name, "wrong set") // the chock went in and out with its set
	w.must(err)
	w.pass(time.Hour)
	w.change(record.ChangeInput{Stand: "F6", Role: mill.Work, SetIn: "NEXT"})
	w.pass(time.Hour)
	v = w.change(record.ChangeInput{Stand: "F6", Role: mill.Work})
	w.pass(time.Hour)
	fit("", "")
	w.refused(port.Conflicting, "", []string{"chock K1 went on or off set NEXT after the change"}, func() error {
		_, err := w.UndoChange(w.ctx, engineer, v.Name, "it stayed in")
		return err
	})
}
