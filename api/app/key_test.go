package app_test

import (
	"encoding/json"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"barrelbook/api/app/port"
	"barrelbook/api/app/record"
	"barrelbook/domain/mill"
	"barrelbook/domain/practice"
	"barrelbook/domain/roll"
)

// recording is every use case that records, once, on the works of shop.
var recording = map[string]func(*works, port.Call) (any, error){
	"receive": func(w *works, c port.Call) (any, error) { return w.ReceiveRoll(w.ctx, c, w.clock.now, receipt("N1")) },
	"regrind": func(w *works, c port.Call) (any, error) {
		in := grind(714_900, 714_500)
		crown := -120.5
		in.CrownUM, in.Tests = &crown, []roll.Test{{Kind: roll.EddyCurrent, Outcome: roll.Unknown}}
		return w.RecordRegrind(w.ctx, c, "FREE", in)
	},
	"inspect": func(w *works, c port.Call) (any, error) {
		return w.RecordHappening(w.ctx, c, record.Happening{Number: "FREE", Body: roll.Inspected{Tests: []roll.Test{{Kind: roll.Visual, Outcome: roll.Failed}}}})
	},
	"hold": func(w *works, c port.Call) (any, error) {
		return w.RecordHappening(w.ctx, c, record.Happening{Number: "FREE", Body: roll.Held{}, Reason: "why"})
	},
	"scrap": func(w *works, c port.Call) (any, error) {
		return w.RecordHappening(w.ctx, c, record.Happening{Number: "FREE", Body: roll.Scrapped{Why: roll.ByCrack}, Reason: "why"})
	},
	"correct": func(w *works, c port.Call) (any, error) {
		return w.CorrectEntry(w.ctx, c, record.Correction{Number: "HELD", Entry: 2, Reason: "another roll"})
	},
	"set": func(w *works, c port.Call) (any, error) {
		return w.BuildSet(w.ctx, c, record.SetInput{Top: "FREE", Bottom: "LONE"})
	},
	"break": func(w *works, c port.Call) (any, error) {
		c.IfVersion = 1
		return w.BreakSet(w.ctx, c, "NEXT", time.Time{}, "why")
	},
	"change": func(w *works, c port.Call) (any, error) {
		return w.RecordChange(w.ctx, c, record.ChangeInput{Stand: "F5", Role: mill.Work, SetIn: "NEXT", StatedT: 12.5})
	},
	"undo": func(w *works, c port.Call) (any, error) {
		last, _, err := w.Changes(w.ctx, "F5", port.Page{Limit: 1})
		if err != nil {
			return nil, err
		}
		return w.UndoChange(w.ctx, c, last[0].Name, "why")
	},
	"incident": func(w *works, c port.Call) (any, error) {
		return w.RecordIncident(w.ctx, c, record.IncidentInput{What: roll.Cobble, Stand: "F5"})
	},
	"campaign": func(w *works, c port.Call) (any, error) {
		return w.LoadCampaign(w.ctx, c, mill.Programme{Mill: "hot", Pieces: []mill.Piece{coil("A1", 1400, "F5", "F6")}, Stops: []mill.PlannedStop{{BeforePiece: 1, Minutes: 10}}})
	},
	"practice": func(w *works, c port.Call) (any, error) {
		return w.CreatePractice(w.ctx, c, practice.Practice{Name: "p", Values: map[practice.Key]float64{practice.CoolingH: 8.25}})
	},
	"stand": func(w *works, c port.Call) (any, error) {
		return w.CreateStand(w.ctx, c, mill.Stand{Name: "F7", Mill: "hot", Order: 7, Arrangement: mill.FourHigh})
	},
	"mill": func(w *works, c port.Call) (any, error) {
		return w.CreateMill(w.ctx, c, mill.Mill{Name: "bar", Kind: mill.Bar})
	},
	"grade": func(w *works, c port.Call) (any, error) {
		return w.CreateGrade(w.ctx, c, port.Grade{Name: "iron", Family: "chilled_iron"})
	},
}

// TestSameKeyOnce sends everything that records twice with one key: one effect
// and the same answer, as it went out the first time. Another body under the
// key is refused, and a dry run stores nothing, whatever its key.
func TestSameKeyOnce(t *testing.T) {
	t.Parallel()
	equal := []cmp.Option{cmpopts.EquateEmpty(), cmp.Comparer(func(a, b time.Time) bool { return a.Equal(b) })}
	for name, do := range recording {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			w := shop(t)
			call := port.Call{Actor: "ann", Role: port.Engineer, Operation: name, Key: "k1", Fingerprint: "body one"}
			dry := call
			dry.DryRun = true
			before := w.everything()
			tried, err := do(w, dry)
			w.must(err)
			if w.everything() != before {
				t.Fatal("a dry run stored something")
			}
			first, err := do(w, call)
			w.must(err)
			after := w.everything()
			if after == before {
				t.Fatal("nothing was stored")
			}
			switch answer := tried.(type) { // they tell that they were dry
			case record.RegrindAnswer:
				answer.DryRun = false
				tried = answer
			case record.CorrectionView:
				answer.DryRun = false
				tried = answer
			}
			if diff := cmp.Diff(plain(t, first), plain(t, tried)); diff != "" {
				t.Errorf("the dry run answered otherwise (-done +dry):\n%s", diff)
			}
			w.pass(time.Hour)
			again, err := do(w, call)
			w.must(err)
			if diff := cmp.Diff(first, again, equal...); diff != "" {
				t.Errorf("the second answer differs (-first +second):\n%s", diff)
			}
			if w.everything() != after {
				t.Error("the second request had an effect")
			}
			other := call
			other.Fingerprint = "body two"
			w.refused(port.KeyReused, "", []string{`"k1"`, "another body"}, func() error {
				_, err := do(w, other)
				return err
			})
			other = call
			other.Actor = "bob" // keys are each caller's own
			if _, err := do(w, other); port.IsKind(err, port.KeyReused) {
				t.Error(err)
			}
			w.sound()
		})
	}
}

// plain is an answer without the names that are made anew for each request.
func plain(t *testing.T, answer any) string {
	t.Helper()
	text, err := json.Marshal(answer)
	if err != nil {
		t.Fatal(err)
	}
	for _, prefix := range []string{"change-", "incident-", "campaign-", "set-"} {
		parts := strings.Split(string(text), prefix)
		for i := range parts[1:] {
			parts[i+1] = strings.TrimLeft(parts[i+1], "0123456789")
		}
		text = []byte(strings.Join(parts, prefix))
	}
	return string(text)
}

// TestWithoutAKeyADoubleIsRefused where a second effect would be wrong.
func TestWithoutAKeyADoubleIsRefused(t *testing.T) {
	t.Parallel()
	for name, words := range map[string]string{
		"receive": "never used again", "regrind": "the same regrind", "hold": "held already", "scrap": "scrapped", "correct": "corrected already",
		"set": "in set", "break": "now 2", "change": "in F5 already", "undo": "", "practice": "already", "stand": "already", "mill": "already", "grade": "already",
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			w := shop(t)
			call := port.Call{Actor: "ann", Role: port.Engineer, Operation: name}
			_, err := recording[name](w, call)
			w.must(err)
			kind := port.Conflicting
			if name == "break" {
				kind = port.Stale
			}
			w.refused(kind, "", []string{words}, func() error {
				_, err := recording[name](w, call)
				return err
			})
		})
	}
}

// TestAnswerOfAnotherVersion: a retry across an upgrade that renamed a field of
// the answer is told that the record stands, does nothing again and shows
// nothing half empty.
func TestAnswerOfAnotherVersion(t *testing.T) {
	t.Parallel()
	w := shop(t)
	call := port.Call{Actor: "ann", Role: port.Engineer, Operation: "regrind", Key: "k1", Fingerprint: "body"}
	w.must(w.store.Write(w.ctx, func(tx port.Writer) error {
		return tx.Remember(port.Replay{Actor: "ann", Operation: "regrind", Key: "k1", Fingerprint: "body", Answer: []byte(`{"Roll":"FREE","Number":2}`), At: w.clock.now})
	}))
	w.refused(port.Conflicting, "", []string{"carried out on 2031-03-05 06:00", "another version", "nothing was done now"}, func() error {
		_, err := recording["regrind"](w, call)
		return err
	})
}
