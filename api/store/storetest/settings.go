package storetest

import (
	"errors"
	"testing"

	"barrelbook/api/app/port"
	"barrelbook/domain/duty"
	"barrelbook/domain/mill"
	"barrelbook/domain/practice"
)

// testSettings: what is kept of the settings is that of the last transaction that
// was kept, and a transaction that writes sees its own.
func testSettings(t *testing.T, s Store) {
	works(t, s)
	seen := func() (known *port.Settings) {
		t.Helper()
		read(t, s, func(r port.Reader) (err error) {
			known, err = r.Settings()
			return err
		})
		return known
	}
	before := seen()
	if seen() != before {
		t.Error("nothing changed, and the settings were read again")
	}
	add := func(name string) func(w port.Writer) error {
		return func(w port.Writer) error {
			err := w.CreatePractice(practice.Practice{Name: name, Values: map[practice.Key]float64{practice.MarginStockUM: 50}})
			own, err2 := w.Settings()
			if err := errors.Join(err, err2); err != nil {
				return err
			}
			if n := len(own.Practices); n != len(before.Practices)+1 || own.Revision == before.Revision {
				t.Errorf("a transaction sees %d practices after it added one to %d, revision %d", n, len(before.Practices), own.Revision)
			}
			return nil
		}
	}
	lost := errors.New("lost")
	err := s.Write(t.Context(), func(w port.Writer) error { return errors.Join(add("P1")(w), lost) })
	if !errors.Is(err, lost) {
		t.Fatal(err)
	}
	if seen() != before {
		t.Error("the settings of a transaction that was taken back are kept")
	}
	write(t, s, add("P2"))
	after := seen()
	if len(after.Practices) != len(before.Practices)+1 || after.Practices[len(before.Practices)].Name != "P2" {
		t.Errorf("practices after one was added: %+v", after.Practices)
	}
	write(t, s, func(w port.Writer) error {
		return errors.Join(w.CreateMill(mill.Mill{Name: "NEW", Kind: mill.Bar}), w.CreateGrade(port.Grade{Name: "new", Family: "tool_steel"}),
			w.CreateStand(mill.Stand{Name: "N1", Mill: "NEW", Arrangement: mill.TwoHigh}))
	})
	if now := seen(); len(now.Mills) != len(after.Mills)+1 || len(now.Grades) != len(after.Grades)+1 || len(now.Stands) != len(after.Stands)+1 {
		t.Errorf("a mill, a grade and a stand were added: %+v", now)
	}
}

// testStamps: a stamp is another as soon as one of its parts is, and only then.
func testStamps(t *testing.T, s Store) {
	works(t, s)
	received(t, s, "W1", "W2")
	parts := port.PartsOfRoll("W1")
	stamp := func() (text string) {
		t.Helper()
		if err := s.Look(t.Context(), func(r port.Reader) (err error) {
			text, err = r.Stamp(parts)
			return err
		}); err != nil {
			t.Fatal(err)
		}
		return text
	}
	last := stamp()
	changes := func(what string, want bool, fn func(w port.Writer) error) {
		t.Helper()
		write(t, s, fn)
		now := stamp()
		if (now != last) != want {
			t.Errorf("%s: the stamp is another: %v, want %v", what, now != last, want)
		}
		last = now
	}
	changes("nothing", false, func(port.Writer) error { return nil })
	changes("another roll", false, func(w port.Writer) error { _, err := enter(w, "W2", hours(1), looked()); return err })
	changes("an entry", true, func(w port.Writer) error { _, err := enter(w, "W1", hours(1), looked()); return err })
	var stay port.Stay
	changes("a stay, in which the state says it is", false, func(w port.Writer) (err error) {
		stay = port.Stay{Roll: "W1", Stand: "F1", Position: mill.TopWork, MountedAt: hours(2), Diameter: 700_000}
		stay.ID, err = w.OpenMounting(stay)
		return err
	})
	parts = append(parts, port.PartOfStay(stay))
	last = stamp()
	changes("pieces", true, func(w port.Writer) error { return w.AddUsage(map[int64]duty.Usage{stay.ID: {Pieces: 1, TonnageT: 20}}) })
	changes("wear reckoned anew", true, func(w port.Writer) error { return w.PutUsage(map[int64]duty.Usage{stay.ID: {Pieces: 1, TonnageT: 21}}) })
	changes("a practice", true, func(w port.Writer) error {
		return w.CreatePractice(practice.Practice{Name: "P", Values: map[practice.Key]float64{}})
	})
}

// testStates: what is kept of a roll is what its book says now, and never what a
// transaction that was taken back would have made of it.
func testStates(t *testing.T, s Store) {
	works(t, s)
	received(t, s, "W1", "W2")
	entries := func(want int64) {
		t.Helper()
		read(t, s, func(r port.Reader) error {
			for range 2 {
				states, err := r.States([]string{"W2", "W1", "W1", "W7"})
				if err != nil {
					return err
				}
				got := map[string]int64{}
				for _, one := range states {
					got[one.Roll.Number] = one.Entries
				}
				same(t, "entries by roll", got, map[string]int64{"W1": want, "W2": 1})
			}
			return nil
		})
	}
	entries(1)
	lost := errors.New("lost")
	err := s.Write(t.Context(), func(w port.Writer) error {
		if _, err := enter(w, "W1", hours(1), looked()); err != nil {
			return err
		}
		states, err := w.States([]string{"W1"})
		if err == nil && states[0].Entries != 2 {
			t.Errorf("a transaction sees %d entries after it wrote the second", states[0].Entries)
		}
		return errors.Join(err, lost)
	})
	if !errors.Is(err, lost) {
		t.Fatal(err)
	}
	entries(1)
	write(t, s, func(w port.Writer) error { _, err := enter(w, "W1", hours(1), looked()); return err })
	entries(2)
}
