package storetest

import (
	"testing"
	"time"

	"barrelbook/api/app/port"
	"barrelbook/domain/duty"
	"barrelbook/domain/mill"
	"barrelbook/domain/roll"
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
		closed := old
		closed.WithdrawnAt = hours(4)
		if err := w.MoveMounting(closed); err != nil {
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
	refused(t, s, port.NotFound, func(w port.Writer) error { return w.RemoveMounting(young.ID + 100) })
	refused(t, s, port.NotFound, func(w port.Writer) error { return w.MoveChange(port.ChangeRow{Name: "c2"}) })
	refused(t, s, port.NotFound, func(w port.Writer) error { return w.UndoChange("c2", hours(5), "by", "why") })
	// The place is taken while the young one runs.
	refused(t, s, port.Conflicting, func(w port.Writer) error { return w.MoveMounting(old) })
	change.At, change.SetOut, change.Why = hours(3), "S0", roll.Wear
	write(t, s, func(w port.Writer) error {
		if err := w.RemoveMounting(young.ID); err != nil {
			return err
		}
		if err := w.MoveMounting(old); err != nil {
			return err
		}
		if err := w.PutUsage(map[int64]duty.Usage{old.ID: {}}); err != nil {
			return err
		}
		if err := w.MoveChange(change); err != nil {
			return err
		}
		return w.UndoChange("c1", hours(5), "by", "why")
	})
	refused(t, s, port.Conflicting, func(w port.Writer) error { return w.UndoChange("c1", hours(6), "by", "why") })
	change.UndoneAt, change.UndoneBy, change.UndoneWhy = hours(5), "by", "why"
	read(t, s, func(r port.Reader) error {
		got, err := r.MountingsBetween([]string{"F1"}, time.Time{}, time.Time{})
		same(t, "mountings after", got, []port.Stay{old})
		if err != nil {
			return err
		}
		listed, _, err := r.Changes("F1", port.Page{})
		same(t, "changes after", listed, []port.ChangeRow{change})
		return err
	})
}
