package app_test

import (
	"fmt"
	"sync"
	"testing"
	"time"

	"barrelbook/api/app/port"
	"barrelbook/api/app/record"
	"barrelbook/domain/mill"
)

// TestLateChangesWhilePiecesCome: a change is told late and taken back while
// pieces come in; in the end each piece is booked once, on the rolls that were in.
func TestLateChangesWhilePiecesCome(t *testing.T) {
	t.Parallel()
	both(t, "both", func(t *testing.T, w *works) {
		from := w.clock.now
		moment := from.Add(30 * time.Minute)
		w.pass(3 * time.Hour)
		const groups, each = 12, 5
		var g sync.WaitGroup
		errs := make([]error, groups+1)
		for i := range groups {
			g.Go(func() {
				var pieces []mill.Piece
				for k := range each {
					p := coil(fmt.Sprintf("P%d-%d", i, k), 1400, "F5", "F6")
					p.Source, p.RolledAt = "mill", from.Add(time.Duration(i+groups*k)*time.Minute+time.Second)
					pieces = append(pieces, p)
				}
				_, errs[i] = w.ImportPieces(w.ctx, engineer, pieces)
			})
		}
		g.Go(func() {
			for k := range 3 {
				v, err := w.RecordChange(w.ctx, engineer, record.ChangeInput{Stand: "F5", Role: mill.Work, SetIn: "NEXT", At: moment})
				if err == nil && k < 2 {
					_, err = w.UndoChange(w.ctx, engineer, v.Name, "not yet")
				}
				if err != nil {
					errs[groups] = err
					return
				}
			}
		})
		g.Wait()
		for _, err := range errs {
			w.must(err)
		}
		var old, next int64
		rows, _, err := w.Pieces(w.ctx, "", port.Page{Limit: 500})
		w.must(err)
		for _, p := range rows {
			if p.RolledAt.Before(moment) {
				old++
			} else {
				next++
			}
		}
		w.bore(map[string]int64{"OLD-T": old, "NEXT-T": next, "BU-B": old + next})
	})
}
