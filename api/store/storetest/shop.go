package storetest

import (
	"errors"
	"testing"
	"time"

	"barrelbook/api/app/port"
	"barrelbook/domain/duty"
	"barrelbook/domain/mill"
	"barrelbook/domain/roll"
)

func testSets(t *testing.T, s Store) {
	works(t, s)
	set := port.SetRow{Name: "S1", Role: mill.Work, Mill: "HSM", Top: "W1", Bottom: "W2", BuiltAt: day}
	write(t, s, func(w port.Writer) error {
		return errors.Join(w.CreateSet(set), w.CreateSet(port.SetRow{Name: "S2", Role: mill.Backup, Mill: "HSM", BuiltAt: day}))
	})
	refused(t, s, port.Conflicting, func(w port.Writer) error { return w.CreateSet(set) })
	set.Version, set.Stand = 1, "F1"
	write(t, s, func(w port.Writer) error { return w.ReplaceSet(set) })
	refused(t, s, port.Stale, func(w port.Writer) error { return w.ReplaceSet(set) })
	refused(t, s, port.NotFound, func(w port.Writer) error { return w.ReplaceSet(port.SetRow{Name: "S9", Mill: "HSM", Version: 1}) })
	set.Version = 2
	listed := func(f port.SetFilter) (names []string) {
		read(t, s, func(r port.Reader) error {
			sets, _, err := r.Sets(f, port.Page{})
			for _, got := range sets {
				names = append(names, got.Name)
			}
			return err
		})
		return names
	}
	read(t, s, func(r port.Reader) error {
		got, err := r.Set("S1")
		same(t, "set", got, set)
		return err
	})
	same(t, "all sets", listed(port.SetFilter{}), []string{"S1", "S2"})
	same(t, "backup sets", listed(port.SetFilter{Role: mill.Backup}), []string{"S2"})
	same(t, "sets of another mill", listed(port.SetFilter{Mill: "BAR"}), []string(nil))
	set.Stand, set.BrokenAt = "", hours(5)
	write(t, s, func(w port.Writer) error { return w.ReplaceSet(set) })
	set.Version = 3
	read(t, s, func(r port.Reader) error {
		got, err := r.Set("S1")
		same(t, "broken set", got, set)
		return err
	})
	same(t, "standing sets", listed(port.SetFilter{}), []string{"S2"})
}

func testMountings(t *testing.T, s Store) {
	works(t, s)
	m := port.Stay{Roll: "W1", Stand: "F1", Position: mill.TopWork, Set: "S1", MountedAt: day, Diameter: 739_900,
		Usage: duty.Usage{Pieces: 1, TonnageT: 20.5, Stated: true}}
	write(t, s, func(w port.Writer) (err error) {
		m.ID, err = w.OpenMounting(m)
		return err
	})
	if m.ID == 0 {
		t.Fatal("the mounting has no id")
	}
	read(t, s, func(r port.Reader) error {
		got, err := r.MountingsAt([]string{"F1", "F2"}, hours(1))
		same(t, "open mounting", got, []port.Stay{m})
		return err
	})
	m.WithdrawnAt = hours(4)
	write(t, s, func(w port.Writer) error { return w.MoveMounting(m) })
	refused(t, s, port.NotFound, func(w port.Writer) error { return w.MoveMounting(port.Stay{ID: m.ID + 100}) })
	later := port.Stay{Roll: "W1", Stand: "F2", Position: mill.TopWork, MountedAt: hours(6)}
	write(t, s, func(w port.Writer) (err error) {
		later.ID, err = w.OpenMounting(later)
		return err
	})
	// A roll is in from its mounting on and out at the moment of withdrawal.
	for _, c := range []struct {
		at      float64
		at1, n1 int
	}{{-0.001, 0, 2}, {0, 1, 2}, {3.999, 1, 2}, {4, 0, 1}, {5, 0, 1}, {6, 1, 1}, {1e6, 1, 1}} {
		read(t, s, func(r port.Reader) error {
			at, err1 := r.MountingsAt([]string{"F1", "F2"}, hours(c.at))
			since, err2 := r.MountingsBetween([]string{"F1", "F2"}, hours(c.at), time.Time{})
			if len(at) != c.at1 || len(since) != c.n1 {
				t.Errorf("%g h on: %d mountings then and %d that end later, want %d and %d", c.at, len(at), len(since), c.at1, c.n1)
			}
			return errors.Join(err1, err2)
		})
	}
	for _, c := range []struct {
		from, until float64
		n           int
	}{{-1, -0.001, 0}, {-1, 0, 1}, {1, 5.999, 1}, {1, 6, 2}, {4, 5, 0}, {5, 7, 1}} {
		read(t, s, func(r port.Reader) error {
			between, err := r.MountingsBetween([]string{"F1", "F2"}, hours(c.from), hours(c.until))
			if len(between) != c.n {
				t.Errorf("%d mountings from %g to %g h, want %d", len(between), c.from, c.until, c.n)
			}
			return err
		})
	}
	read(t, s, func(r port.Reader) error {
		first, next, err1 := r.Mountings("W1", port.Page{Limit: 1})
		second, end, err2 := r.Mountings("W1", port.Page{Limit: 1, After: next})
		same(t, "mountings of the roll, newest first", append(first, second...), []port.Stay{later, m})
		if end != "" {
			t.Errorf("there is a page after the last")
		}
		none, err3 := r.MountingsAt(nil, day)
		if len(none) != 0 {
			t.Errorf("mountings of no stands: %v", none)
		}
		return errors.Join(err1, err2, err3)
	})
	if err := s.Write(t.Context(), func(w port.Writer) error {
		early := later
		early.WithdrawnAt = hours(5)
		return w.MoveMounting(early)
	}); err == nil {
		t.Error("a roll came out before it went in")
	}
}

func testPlaces(t *testing.T, s Store) {
	works(t, s)
	open := func(number, stand string, p mill.Position) func(port.Writer) error {
		return func(w port.Writer) error {
			_, err := w.OpenMounting(port.Stay{Roll: number, Stand: stand, Position: p, MountedAt: day})
			return err
		}
	}
	write(t, s, open("W1", "F1", mill.TopWork))
	refused(t, s, port.Conflicting, open("W1", "F2", mill.TopWork)) // a roll is in one place
	refused(t, s, port.Conflicting, open("W2", "F1", mill.TopWork)) // a place has one roll
	refused(t, s, port.NotFound, open("W2", "F9", mill.TopWork))
	write(t, s, open("W2", "F1", mill.BottomWork))
}

func testUsage(t *testing.T, s Store) {
	works(t, s)
	received(t, s, "W1", "W2")
	var a, b, c int64
	write(t, s, func(w port.Writer) (err error) {
		a, err = w.OpenMounting(port.Stay{Roll: "W1", Stand: "F1", Position: mill.TopWork, MountedAt: day})
		if err != nil {
			return err
		}
		if err = w.MoveMounting(port.Stay{ID: a, MountedAt: day, WithdrawnAt: hours(1)}); err != nil {
			return err
		}
		if b, err = w.OpenMounting(port.Stay{Roll: "W1", Stand: "F1", Position: mill.TopWork, MountedAt: hours(2)}); err != nil {
			return err
		}
		c, err = w.OpenMounting(port.Stay{Roll: "W2", Stand: "F1", Position: mill.BottomWork, MountedAt: hours(2)})
		return err
	})
	one := duty.Usage{Pieces: 1, TonnageT: 0.1, RolledKM: 0.25, Revolutions: 100, ExposureKM: 0.3, MaxForceKN: 15000, MaxPeakPressureMPa: 1800, WearUM: []float64{0.1, 0.2}}
	two := duty.Usage{Pieces: 2, TonnageT: 0.2, MaxForceKN: 14000, WearUM: []float64{1, 2}, Stated: true}
	for range 2 {
		write(t, s, func(w port.Writer) error { return w.AddUsage(map[int64]duty.Usage{a: one, b: two, c: one}) })
	}
	refused(t, s, port.NotFound, func(w port.Writer) error { return w.AddUsage(map[int64]duty.Usage{a: one, c + 100: one}) })
	write(t, s, func(w port.Writer) error { return w.AddUsage(nil) })
	sum := func(usages ...duty.Usage) (total duty.Usage) {
		for _, u := range usages {
			total.Add(u)
		}
		return total
	}
	read(t, s, func(r port.Reader) error {
		ms, err := r.MountingsBetween([]string{"F1"}, day, time.Time{})
		got := map[int64]duty.Usage{}
		for _, m := range ms {
			got[m.ID] = m.Usage
		}
		same(t, "usage of the mountings", got, map[int64]duty.Usage{a: sum(one, one), b: sum(two, two), c: sum(one, one)})
		w1, err1 := r.Roll("W1")
		w2, err2 := r.Roll("W2")
		same(t, "totals of a roll of two mountings", w1.Totals, sum(sum(one, two), sum(one, two)))
		same(t, "totals of the other", w2.Totals, sum(one, one))
		if w1.Version() != 1 {
			t.Errorf("usage moved the version of the book to %d", w1.Version())
		}
		return errors.Join(err, err1, err2)
	})
	// An entry leaves the totals as they are.
	write(t, s, func(w port.Writer) error { _, err := enter(w, "W2", hours(3), looked()); return err })
	read(t, s, func(r port.Reader) error {
		w2, err := r.Roll("W2")
		same(t, "totals after an entry", w2.Totals, sum(one, one))
		return err
	})
}

func testHappenings(t *testing.T, s Store) {
	works(t, s)
	changes := []port.ChangeRow{
		{Name: "c1", Stand: "F1", Role: mill.Work, At: day, SetOut: "S1", SetIn: "S2", Why: roll.Planned, By: "B. Shift", Note: "n"},
		{Name: "c2", Stand: "F2", Role: mill.Work, At: day},
		{Name: "c3", Stand: "F1", Role: mill.Backup, At: hours(2)},
	}
	incidents := []port.IncidentRow{
		{Name: "i1", What: roll.Cobble, Stand: "F1", At: day, Rolls: []string{"W1", "W2"}, By: "B. Shift", Note: "tail"},
		{Name: "i2", What: roll.Spall, At: hours(1), Rolls: []string{"W1"}},
	}
	write(t, s, func(w port.Writer) error {
		return errors.Join(w.CreateChange(changes[0]), w.CreateChange(changes[1]), w.CreateChange(changes[2]), w.CreateIncident(incidents[0]), w.CreateIncident(incidents[1]))
	})
	refused(t, s, port.Conflicting, func(w port.Writer) error { return w.CreateChange(changes[0]) })
	refused(t, s, port.Conflicting, func(w port.Writer) error { return w.CreateIncident(incidents[0]) })
	read(t, s, func(r port.Reader) error {
		all, next, err1 := r.Changes("", port.Page{Limit: 2})
		rest, _, err2 := r.Changes("", port.Page{Limit: 2, After: next})
		same(t, "changes, newest first", append(all, rest...), []port.ChangeRow{changes[2], changes[1], changes[0]})
		f1, _, err3 := r.Changes("F1", port.Page{})
		same(t, "changes of a stand", f1, []port.ChangeRow{changes[2], changes[0]})
		got, _, err4 := r.Incidents(port.Page{})
		same(t, "incidents, newest first", got, []port.IncidentRow{incidents[1], incidents[0]})
		return errors.Join(err1, err2, err3, err4)
	})
}
