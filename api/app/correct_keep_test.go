package app_test

import (
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"barrelbook/api/app/port"
	"barrelbook/api/app/record"
	"barrelbook/domain/roll"
)

// instead is a correction that says all anew but the moment, where that is not
// given.
func instead(in record.RegrindInput) func(*record.RegrindInput) {
	return func(to *record.RegrindInput) {
		if in.At.IsZero() {
			in.At = to.At
		}
		*to = in
	}
}

// TestACorrectionKeepsWhatItDoesNotName: a digit put right leaves crown,
// roughness, tests, grinder and note as they were.
func TestACorrectionKeepsWhatItDoesNotName(t *testing.T) {
	t.Parallel()
	w := shop(t)
	in := grind(714_900, 714_500)
	crown, rough := -120.0, 0.8
	in.CrownUM, in.RoughnessUM, in.Grinder, in.Note, in.AboveShopK = &crown, &rough, "G2", "wheel 5", 4
	in.Tests = []roll.Test{{Kind: roll.EddyCurrent, Outcome: roll.Passed, Note: "whole barrel"}}
	answer, err := w.RecordRegrind(w.ctx, engineer, "FREE", in)
	w.must(err)
	said := w.lastGrind("FREE")
	w.pass(time.Hour)
	_, err = w.CorrectEntry(w.ctx, engineer, record.Correction{Number: "FREE", Entry: answer.Entry, Reason: "digit misread",
		Regrind: func(to *record.RegrindInput) { to.Ground, to.Confirmed = 714_400, []string{"stock"} }})
	w.must(err)
	now := w.lastGrind("FREE")
	if now.Ground != 714_400 {
		t.Errorf("ground %s after it was corrected to 714.400", now.Ground)
	}
	if diff := cmp.Diff(said, now, cmpopts.IgnoreFields(roll.Reground{}, "Ground", "Confirmed")); diff != "" {
		t.Errorf("the correction of one digit changed more (-said +now):\n%s", diff)
	}
	w.sound()
}

// lastGrind is the last regrind of a roll as its book has it.
func (w *works) lastGrind(number string) roll.Reground {
	w.t.Helper()
	v, err := w.Roll(w.ctx, number)
	w.must(err)
	return *v.State.LastRegrind
}

// TestAConfirmationIsForItsFigures: a reason why 8 mm of stock was right does
// not let a slip of the correction pass.
func TestAConfirmationIsForItsFigures(t *testing.T) {
	t.Parallel()
	w := shop(t)
	in := grind(714_900, 706_000)
	in.Confirm = "a crack 4 mm deep"
	answer, err := w.RecordRegrind(w.ctx, engineer, "FREE", in)
	w.must(err)
	w.pass(time.Hour)
	to := func(change func(*record.RegrindInput)) error {
		_, err := w.CorrectEntry(w.ctx, engineer, record.Correction{Number: "FREE", Entry: answer.Entry, Reason: "misread", Regrind: change})
		return err
	}
	w.refused(port.Impossible, "regrind/ground_mm", []string{"confirm"}, func() error {
		return to(func(in *record.RegrindInput) { in.Ground = 700_000 })
	})
	w.must(to(func(in *record.RegrindInput) { in.Grinder = "G3" })) // the figures stand, and with them the reason
	if got := w.lastGrind("FREE"); got.Confirm != in.Confirm || got.Grinder != "G3" {
		t.Errorf("confirm %q, grinder %q after the grinder was corrected", got.Confirm, got.Grinder)
	}
}

// TestWhoMayCorrect tries every role on every kind of entry, by every verb: who
// may not undo what an entry did is refused, and nothing is stored.
func TestWhoMayCorrect(t *testing.T) {
	t.Parallel()
	happens := func(body roll.Body) func(*works) (string, int64) {
		return func(w *works) (string, int64) {
			v, err := w.RecordHappening(w.ctx, engineer, record.Happening{Number: "FREE", Reason: "why", Body: body})
			w.must(err)
			return "FREE", v.Version()
		}
	}
	withdraw := record.Correction{Reason: "typed wrong"}
	regrind, receipt := withdraw, withdraw
	regrind.Regrind = func(in *record.RegrindInput) { in.Note = "other wheel" }
	receipt.Receipt = func(r *roll.Received) { r.Roll.Scrap.Nominal -= 1000 }
	const grinder, engineers = port.Grinder, port.Engineer
	for name, c := range map[string]struct {
		entry func(*works) (string, int64)
		verb  record.Correction
		least port.Role
	}{
		"withdraw a regrind":  {func(w *works) (string, int64) { w.regrind("FREE", 714_900, 714_500); return "FREE", 2 }, withdraw, grinder},
		"correct a regrind":   {func(w *works) (string, int64) { w.regrind("FREE", 714_900, 714_500); return "FREE", 2 }, regrind, grinder},
		"withdraw a test":     {happens(roll.Inspected{Tests: []roll.Test{{Kind: roll.Visual, Outcome: roll.Passed}}}), withdraw, grinder},
		"lower a scrap limit": {func(*works) (string, int64) { return "FREE", 1 }, receipt, engineers},
		"withdraw a hold":     {func(*works) (string, int64) { return "HELD", 2 }, withdraw, engineers},
		"withdraw a release": {func(w *works) (string, int64) {
			v, err := w.RecordHappening(w.ctx, engineer, record.Happening{Number: "HELD", Reason: "looked at", Body: roll.Released{}})
			w.must(err)
			return "HELD", v.Version()
		}, withdraw, engineers},
		"withdraw a regrading": {happens(roll.Regraded{Stands: []string{"F6"}}), withdraw, engineers},
		"withdraw a scrapping": {happens(roll.Scrapped{Why: roll.BySpall}), withdraw, engineers},
		"withdraw a cobble": {func(w *works) (string, int64) {
			_, err := w.RecordIncident(w.ctx, engineer, record.IncidentInput{What: roll.Cobble, Roll: "FREE"})
			w.must(err)
			return "FREE", w.entries("FREE")
		}, withdraw, engineers},
		// Not the entry's role, but what it would bring back.
		"withdraw a regrind that scrapped the roll": {func(w *works) (string, int64) {
			in := grind(714_900, 639_000)
			in.Confirm = "a crack 38 mm deep"
			_, err := w.RecordRegrind(w.ctx, engineer, "FREE", in)
			w.must(err)
			return "FREE", 2
		}, withdraw, engineers},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			for _, role := range []port.Role{"", port.Viewer, port.Grinder, port.Shift, port.Engineer, port.Admin} {
				w := shop(t)
				number, entry := c.entry(w)
				w.pass(time.Hour)
				to := c.verb
				to.Number, to.Entry = number, entry
				try := func() error {
					_, err := w.CorrectEntry(w.ctx, port.Call{Actor: "ann", Role: role}, to)
					return err
				}
				if !role.May(c.least) {
					w.refused(port.Forbidden, "", []string{"by somebody of role "}, try)
					continue
				}
				if err := try(); err != nil {
					t.Errorf("%s may not: %v", role, err)
				}
				w.sound()
			}
		})
	}
}
