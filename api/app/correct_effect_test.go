package app_test

import (
	"strings"
	"testing"
	"time"

	"barrelbook/api/app/port"
	"barrelbook/api/app/record"
	"barrelbook/domain/roll"
)

// TestACorrectionSaysWhatFollows: the answer, also of a dry run, has the entry
// before and after, and stock, fitness, tests owed and forecast of the roll.
func TestACorrectionSaysWhatFollows(t *testing.T) {
	t.Parallel()
	w := shop(t)
	w.regrind("FREE", 714_900, 714_500)
	w.pass(time.Hour)
	correct := func(call port.Call) record.CorrectionView {
		t.Helper()
		v, err := w.CorrectEntry(w.ctx, call, record.Correction{Number: "FREE", Entry: 2, Reason: "misread",
			Regrind: func(in *record.RegrindInput) {
				in.Ground, in.Confirmed = 639_000, []string{"stock"}
				in.Confirm = "a crack 38 mm deep"
			}})
		w.must(err)
		return v
	}
	would, did := correct(dryRun()), correct(engineer)
	for name, v := range map[string]record.CorrectionView{"dry run": would, "done": did} {
		before, after := v.Before[0], v.After[0]
		if v.Entry != 3 || v.Corrects != 2 || v.Withdrawn || v.SaidRegrind.Ground != 714_500 || v.SaysRegrind.Ground != 639_000 {
			t.Errorf("%s: entry %d corrects %d: %v, then %v", name, v.Entry, v.Corrects, v.SaidRegrind, v.SaysRegrind)
		}
		if before.StockLeft != 74_500 || before.Stage != roll.StageGround || after.StockLeft != -1_000 || after.Stage != roll.StageScrapped || after.Diameter != 639_000 {
			t.Errorf("%s: from %+v to %+v", name, before, after)
		}
	}
	if n := w.entries("FREE"); n != 3 {
		t.Errorf("%d entries after a dry run and a correction of a book of two", n)
	}
	w.sound()
}

// TestACorrectionOfNothingIsRefused: one that is sent again does nothing twice.
func TestACorrectionOfNothingIsRefused(t *testing.T) {
	t.Parallel()
	w := shop(t)
	w.regrind("FREE", 714_900, 714_500)
	w.pass(time.Hour)
	right := func(entry int64) func() error {
		return func() error {
			_, err := w.CorrectEntry(w.ctx, engineer, record.Correction{Number: "FREE", Entry: entry, Reason: "misread", Regrind: func(in *record.RegrindInput) { in.Ground, in.Confirmed = 714_450, []string{"stock"} }})
			return err
		}
	}
	w.must(right(2)())
	w.refused(port.Conflicting, "", []string{"entry 3 of roll FREE says so already"}, right(3))
	w.refused(port.Conflicting, "", []string{"entry 2 has been corrected already", "correct entry 3 instead"}, right(2))
	w.refused(port.Conflicting, "", []string{"says so already"}, func() error {
		_, err := w.CorrectEntry(w.ctx, engineer, record.Correction{Number: "FREE", Entry: 1, Reason: "misread", Receipt: func(r *roll.Received) { r.Roll.Scrap = roll.ScrapLimits{Nominal: 640_000} }})
		return err
	})
}

// TestAnIncidentIsTakenFromEveryRoll that it touched, by its name or by its entry
// in any of the books, once.
func TestAnIncidentIsTakenFromEveryRoll(t *testing.T) {
	t.Parallel()
	for name, take := range map[string]func(w *works, incident string) ([]record.RollStanding, []record.RollStanding, error){
		"by its entry in one book": func(w *works, _ string) ([]record.RollStanding, []record.RollStanding, error) {
			v, err := w.CorrectEntry(w.ctx, engineer, record.Correction{Number: "OLD-B", Entry: w.entries("OLD-B"), Reason: "it was at F6"})
			return v.Before, v.After, err
		},
		"by its name": func(w *works, incident string) ([]record.RollStanding, []record.RollStanding, error) {
			v, err := w.UndoIncident(w.ctx, engineer, incident, "it was at F6")
			return v.Before, v.After, err
		},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			w := shop(t)
			v, err := w.RecordIncident(w.ctx, engineer, record.IncidentInput{What: roll.Cobble, Stand: "F5"})
			w.must(err)
			if len(v.Rolls) < 2 {
				t.Fatalf("the cobble was borne by %q", v.Rolls)
			}
			owed := func() (all string) {
				for _, number := range v.Rolls {
					r, err := w.Roll(w.ctx, number)
					w.must(err)
					for _, o := range r.State.Owed {
						all += number + ": " + o.Sentence() + "; "
					}
				}
				return all
			}
			if !strings.Contains(owed(), "OLD-T") || !strings.Contains(owed(), "OLD-B") {
				t.Fatalf("owed after the cobble: %s", owed())
			}
			w.pass(time.Hour)
			before, after, err := take(w, v.Name)
			w.must(err)
			if got := owed(); got != "" {
				t.Errorf("still owed: %s", got)
			}
			if len(before) != len(v.Rolls) || len(after) != len(before) {
				t.Errorf("%d and %d standings of %d rolls", len(before), len(after), len(v.Rolls))
			}
			for i := range after {
				if len(before[i].Owed) == 0 && strings.HasPrefix(before[i].Roll, "OLD") || len(after[i].Owed) > 0 {
					t.Errorf("%s owed %v before and %v after", after[i].Roll, before[i].Owed, after[i].Owed)
				}
			}
			items, _, err := w.Incidents(w.ctx, port.Page{Limit: 10})
			w.must(err)
			if items[0].UndoneWhy != "it was at F6" || items[0].UndoneBy != engineer.Actor || items[0].UndoneAt.IsZero() {
				t.Errorf("the register says %+v", items[0])
			}
			w.refused(port.Conflicting, "", []string{"was undone on", "it was at F6"}, func() error { _, err := w.UndoIncident(w.ctx, engineer, v.Name, "again"); return err })
			w.refused(port.NotFound, "", []string{"there is no incident"}, func() error { _, err := w.UndoIncident(w.ctx, engineer, "none", "again"); return err })
			w.sound()
			// A change told late does not bring it back.
			_, err = w.RecordChange(w.ctx, engineer, record.ChangeInput{Stand: "F5", Role: "work", SetIn: "NEXT", At: v.At.Add(-time.Minute)})
			w.must(err)
			for _, number := range []string{"NEXT-T", "NEXT-B"} {
				r, err := w.Roll(w.ctx, number)
				w.must(err)
				if len(r.State.Owed) > 0 {
					t.Errorf("%s owes %v of an incident that was undone", number, r.State.Owed)
				}
			}
		})
	}
}
