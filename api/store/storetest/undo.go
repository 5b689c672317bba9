package storetest

import (
	"testing"
	"time"

	"barrelbook/api/app/port"
	"barrelbook/domain/duty"
	"barrelbook/domain/mill"
)

// testUndo takes a mounting back and makes another run on.
func testUndo(t *testing.T, s Store) {
	works(t, s)
	change := port.ChangeRow{Name: "c1", Stand: "F1", Role: mill.Work, At: hours(4), SetOut: "S1", SetIn: "S2", StatedT: 20.5, StatedKM: 3, StatedSpecificKNPerMM: 9.5}
	old := port.Stay{Roll: "W1", Stand: "F1", Position: mill.TopWork, Set: "S1", MountedAt: day}
	young := port.Stay{Roll: "W2", Stand: "F1", Position: mill.TopWork, Set: "S2", MountedAt: hours(4)}
	write(t, s, func(w port.Writer) (err error) {
		if old.ID, err = w.OpenMounting(old); err != nil {
			return err
		}
		if err := w.AddUsage(map[int64]duty.Usage{old.ID: {TonnageT: 20.5, Stated: true}}); err != nil {
			return err
		}
		if err := w.CloseMounting(old.ID, hours(4)); err != nil {
			return err
		}
		if young.ID, err = w.OpenMounting(young); err != nil {
			return err
		}
		return w.CreateChange(change)
	})
	read(t, s, func(r port.Reader) error {
		got, err := r.Change("c1")
		same(t, "change", got, change)
		return err
	})
	refused(t, s, port.NotFound, func(w port.Writer) error { _, err := w.Change("c2"); return err })
	refused(t, s, port.NotFound, func(w port.Writer) error { return w.DropMounting(young.ID + 100) })
	refused(t, s, port.NotFound, func(w port.Writer) error { return w.ReopenMounting(young.ID + 100) })
	refused(t, s, port.NotFound, func(w port.Writer) error { return w.UndoChange("c2", hours(5), "by", "why") })
	refused(t, s, port.Conflicting, func(w port.Writer) error { return w.DropMounting(old.ID) }) // it is out
	refused(t, s, port.Conflicting, func(w port.Writer) error {
		if err := w.AddUsage(map[int64]duty.Usage{young.ID: {Pieces: 1, TonnageT: 20}}); err != nil {
			return err
		}
		return w.DropMounting(young.ID) // it has rolled
	})
	// The place is taken while the young one runs.
	refused(t, s, port.Conflicting, func(w port.Writer) error { return w.ReopenMounting(old.ID) })
	write(t, s, func(w port.Writer) error {
		if err := w.DropMounting(young.ID); err != nil {
			return err
		}
		if err := w.AddUsage(map[int64]duty.Usage{old.ID: {TonnageT: -20.5}}); err != nil {
			return err
		}
		if err := w.ReopenMounting(old.ID); err != nil {
			return err
		}
		return w.UndoChange("c1", hours(5), "by", "why")
	})
	refused(t, s, port.Conflicting, func(w port.Writer) error { return w.UndoChange("c1", hours(6), "by", "why") })
	change.UndoneAt, change.UndoneBy, change.UndoneWhy = hours(5), "by", "why"
	read(t, s, func(r port.Reader) error {
		got, err := r.MountingsSince([]string{"F1"}, time.Time{})
		same(t, "mountings after", got, []port.Stay{old})
		if err != nil {
			return err
		}
		listed, _, err := r.Changes("F1", port.Page{})
		same(t, "changes after", listed, []port.ChangeRow{change})
		return err
	})
}
