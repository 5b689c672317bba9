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

// testLate is what a record that comes late writes anew: usage in the place of
// usage, totals by the mountings there are, and who bore a mishap.
func testLate(t *testing.T, s Store) {
	works(t, s)
	received(t, s, "W1", "W2")
	var first, second int64
	write(t, s, func(w port.Writer) (err error) {
		if first, err = w.OpenMounting(port.Stay{Roll: "W1", Stand: "F1", Position: mill.TopWork, MountedAt: hours(1), WithdrawnAt: hours(2)}); err != nil {
			return err
		}
		if second, err = w.OpenMounting(port.Stay{Roll: "W1", Stand: "F1", Position: mill.TopWork, MountedAt: hours(3)}); err != nil {
			return err
		}
		if err := w.AddUsage(map[int64]duty.Usage{first: {Pieces: 9, TonnageT: 90, MaxForceKN: 20000}, second: {Pieces: 1, TonnageT: 10}}); err != nil {
			return err
		}
		_, err = w.InsertPieces([]mill.Piece{piece("b", "2", hours(1)), piece("a", "9", hours(1)), piece("a", "1", hours(2)), piece("a", "0", hours(3))})
		return errors.Join(err, w.CreateIncident(port.IncidentRow{Name: "i1", What: roll.Cobble, Stand: "F1", At: hours(1), Rolls: []string{"W1"}}))
	})
	write(t, s, func(w port.Writer) error {
		if err := w.PutUsage(map[int64]duty.Usage{first: {Pieces: 2, TonnageT: 20, MaxForceKN: 15000, WearUM: []float64{1, 2}}}); err != nil {
			return err
		}
		return errors.Join(w.SumTotals([]string{"W1", "W2"}, day), w.MoveIncident(port.IncidentRow{Name: "i1", Rolls: []string{"W2", "W3"}}))
	})
	// Marked as undone, once.
	write(t, s, func(w port.Writer) error { return w.UndoIncident("i1", hours(5), "ann", "it was at F6") })
	read(t, s, func(r port.Reader) error {
		i, err := r.Incident("i1")
		same(t, "the undone incident", i, port.IncidentRow{Name: "i1", What: roll.Cobble, Stand: "F1", At: hours(1), Rolls: []string{"W2", "W3"}, UndoneAt: hours(5), UndoneBy: "ann", UndoneWhy: "it was at F6"})
		_, none := r.Incident("none")
		if !port.IsKind(none, port.NotFound) {
			t.Errorf("an incident nobody knows: %v", none)
		}
		return err
	})
	refused(t, s, port.Conflicting, func(w port.Writer) error { return w.UndoIncident("i1", hours(6), "by", "why") })
	refused(t, s, port.NotFound, func(w port.Writer) error { return w.UndoIncident("none", hours(6), "by", "why") })
	refused(t, s, port.NotFound, func(w port.Writer) error { return w.MoveIncident(port.IncidentRow{Name: "none"}) })
	read(t, s, func(r port.Reader) error {
		one, err := r.Roll("W1")
		same(t, "totals of the mountings there are", one.Totals, duty.Usage{Pieces: 3, TonnageT: 30, MaxForceKN: 15000, WearUM: []float64{1, 2}})
		none, err2 := r.Roll("W2")
		same(t, "totals of no mounting", none.Totals, duty.Usage{})
		told, _, err3 := r.Incidents(port.Page{})
		same(t, "who bore it", told[0].Rolls, []string{"W2", "W3"})
		return errors.Join(err, err2, err3)
	})
	read(t, s, func(r port.Reader) error {
		var ids []string
		for page := (port.Page{Limit: 2}); ; {
			pieces, next, err := r.PiecesBetween("HSM", hours(1), hours(3), page)
			if err != nil {
				return err
			}
			for _, p := range pieces {
				ids = append(ids, p.Source+p.ID)
			}
			if page.After = next; next == "" {
				break
			}
		}
		same(t, "pieces from a moment until before another, oldest first", ids, []string{"a9", "b2", "a1"})
		open, _, err := r.PiecesBetween("HSM", hours(2), time.Time{}, port.Page{})
		other, _, err2 := r.PiecesBetween("BAR", time.Time{}, time.Time{}, port.Page{})
		if len(open) != 2 || len(other) != 0 {
			t.Errorf("%d pieces without an end and %d of another mill, want 2 and none", len(open), len(other))
		}
		return errors.Join(err, err2)
	})
}
