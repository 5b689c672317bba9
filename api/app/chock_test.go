package app_test

import (
	"strings"
	"testing"
	"time"

	"barrelbook/api/app/port"
	"barrelbook/api/app/record"
	"barrelbook/domain/chock"
	"barrelbook/domain/mill"
	"barrelbook/domain/release"
	"barrelbook/domain/roll"
)

func (w *works) chock(name string) {
	w.t.Helper()
	_, err := w.AddChock(w.ctx, engineer, w.clock.now, chock.Chock{Name: name, Mill: "hot", Role: mill.Work, Bearing: "four-row taper", InspectEvery: 10 * time.Hour}, "")
	w.must(err)
}

func (w *works) fit(name, set string, place chock.Place) record.ChockView {
	w.t.Helper()
	v, err := w.FitChock(w.ctx, engineer, name, record.FitInput{Set: set, Place: place})
	w.must(err)
	return v
}

func (w *works) inspected(name string, outcome roll.Outcome) {
	w.t.Helper()
	_, err := w.InspectChock(w.ctx, engineer, name, time.Time{}, chock.Inspected{Outcome: outcome})
	w.must(err)
}

// TestChockOwesInspection: a bearing that was never inspected, whose result is
// not known, or that is overdue keeps its set from being released: in the list,
// in the stand, in the check and in the plan.
func TestChockOwesInspection(t *testing.T) {
	t.Parallel()
	w := shop(t)
	w.chock("K1")
	w.fit("K1", "NEXT", chock.TopDrive)
	notReleased := func(why string) {
		t.Helper()
		v, err := w.Set(w.ctx, "NEXT")
		w.must(err)
		if v.Fitness.Word != release.NotReleased || v.Ready() || !strings.Contains(strings.Join(v.Fitness.Reasons, "\n"), why) {
			t.Errorf("%s %v, want not released: %s", v.Fitness.Word, v.Fitness.Reasons, why)
		}
		w.refused(port.Conflicting, "", []string{"not released", why, "an engineer releases it with a reason"}, func() error {
			_, err := w.RecordChange(w.ctx, engineer, record.ChangeInput{Stand: "F5", Role: mill.Work, SetIn: "NEXT"})
			return err
		})
	}
	notReleased("chock K1 (top drive) has never been inspected")
	w.inspected("K1", roll.Unknown)
	notReleased("no known result")
	w.inspected("K1", roll.Passed)
	if v, err := w.Set(w.ctx, "NEXT"); err != nil || !v.Ready() {
		t.Errorf("%v %v, want it ready once inspected", v.Fitness, err)
	}
	w.change(record.ChangeInput{Stand: "F5", Role: mill.Work, SetIn: "NEXT"})
	w.pass(11 * time.Hour) // of 10
	v, err := w.Roll(w.ctx, "NEXT-T")
	w.must(err)
	if v.Fitness.Word != release.NotReleased || !strings.Contains(strings.Join(v.Fitness.Reasons, "\n"), "has run 11 h") {
		t.Errorf("in the stand: %+v", v.Fitness)
	}
	if v, err = w.Roll(w.ctx, "NEXT-B"); err != nil || v.Fitness.Word != release.Fit {
		t.Errorf("the other roll has no chock: %+v %v", v.Fitness, err)
	}
}

// A chock on set NEXT runs with it: 4 h and the 40 t of two coils, by hand, and
// goes on to set SPARE with what it has run.
func TestChockRunsWithItsSet(t *testing.T) {
	t.Parallel()
	w := shop(t)
	w.chock("K1")
	w.inspected("K1", roll.Passed)
	w.fit("K1", "NEXT", chock.TopDrive)
	w.change(record.ChangeInput{Stand: "F5", Role: mill.Work, SetIn: "NEXT"})
	w.pass(time.Hour)
	w.importAll(rolled("a", w.clock.now, "F5"), rolled("b", w.clock.now, "F5"))
	w.pass(3 * time.Hour)
	w.refused(port.Conflicting, "", []string{"NEXT is in F5"}, func() error { _, err := w.FitChock(w.ctx, engineer, "K1", record.FitInput{}); return err })
	w.change(record.ChangeInput{Stand: "F5", Role: mill.Work, SetIn: "SPARE"})
	v := w.fit("K1", "", "")
	if round(v.OnBearing.Hours) != 4 || round(v.OnBearing.TonnageT) != 40 || v.Set != "" || v.Inspection.Owed {
		t.Errorf("chock %+v, want 4 h and 40 t, off, not due", v)
	}
	_, err := w.InspectChock(w.ctx, engineer, "K1", time.Time{}, chock.Inspected{Outcome: roll.Passed, NewBearing: "four-row taper, second"})
	w.must(err)
	v, err = w.Chock(w.ctx, "K1")
	w.must(err)
	if v.OnBearing.Hours != 0 || round(v.Life.Hours) != 4 || v.Bearing != "four-row taper, second" || v.Condition != roll.Passed {
		t.Errorf("after a new bearing: %+v, want 0 h on it and 4 h in all", v)
	}
	views, _, err := w.Chocks(w.ctx, port.ChockFilter{Mill: "hot"}, port.Page{Limit: 10})
	w.must(err)
	entries, _, err := w.ChockEntries(w.ctx, "K1", port.Page{Limit: 10})
	w.must(err)
	if len(views) != 1 || len(entries) != 5 {
		t.Errorf("%d chocks and %d entries, want 1 and 5", len(views), len(entries))
	}
}

func TestChockRefusals(t *testing.T) {
	t.Parallel()
	w := shop(t)
	w.chock("K1")
	w.chock("K2")
	w.fit("K1", "NEXT", chock.TopDrive)
	fit := func(name, set string, place chock.Place) func() error {
		return func() error {
			_, err := w.FitChock(w.ctx, engineer, name, record.FitInput{Set: set, Place: place})
			return err
		}
	}
	w.refused(port.Conflicting, "", []string{"chock K1 is on set NEXT"}, fit("K2", "NEXT", chock.TopDrive))
	w.refused(port.Conflicting, "", []string{"on set NEXT"}, fit("K1", "SPARE", chock.TopDrive))
	w.refused(port.Conflicting, "", []string{"OLD is in F5"}, fit("K2", "OLD", chock.TopDrive))
	w.refused(port.Impossible, "set", []string{"backup"}, fit("K2", "BU", chock.TopDrive))
	w.refused(port.NotFound, "", nil, fit("K2", "NONE", chock.TopDrive))
	w.refused(port.NotFound, "", nil, fit("K9", "NEXT", chock.TopDrive))
	w.refused(port.Impossible, "place", nil, fit("K2", "NEXT", ""))
	w.refused(port.Conflicting, "", []string{"K1"}, func() error {
		_, err := w.AddChock(w.ctx, engineer, w.clock.now, chock.Chock{Name: "K1", Mill: "hot", Role: mill.Work, Bearing: "x"}, "")
		return err
	})
	w.refused(port.Impossible, "mill", nil, func() error {
		_, err := w.AddChock(w.ctx, engineer, w.clock.now, chock.Chock{Name: "K3", Mill: "none", Role: mill.Work, Bearing: "x"}, "")
		return err
	})
	// A set with a failed bearing does not go in.
	_, err := w.InspectChock(w.ctx, engineer, "K1", time.Time{}, chock.Inspected{Outcome: roll.Failed})
	w.must(err)
	w.refused(port.Conflicting, "", []string{"K1", "failed its inspection"}, func() error {
		_, err := w.RecordChange(w.ctx, engineer, record.ChangeInput{Stand: "F5", Role: mill.Work, SetIn: "NEXT"})
		return err
	})
}
