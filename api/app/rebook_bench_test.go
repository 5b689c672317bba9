package app_test

import (
	"fmt"
	"testing"
	"time"

	"barrelbook/api/app/port"
	"barrelbook/api/app/record"
	"barrelbook/domain/mill"
)

// BenchmarkLateChange is a change told after 20 pieces at a stand whose backup
// rolls have borne some thousand, against the same change told in time: both as
// dry runs, with all that is asked of a change.
func BenchmarkLateChange(b *testing.B) {
	w := shop(b)
	pieces := 0
	roll := func(n int) {
		var list []mill.Piece
		for range n {
			w.pass(2 * time.Minute)
			p := coil(fmt.Sprintf("P%06d", pieces), 1400, "F5", "F6")
			p.Source, p.RolledAt = "mill", w.clock.now.Add(-time.Second)
			list, pieces = append(list, p), pieces+1
		}
		w.must(second(w.ImportPieces(w.ctx, engineer, list)))
	}
	sets := []string{"OLD", "NEXT", "SPARE"}
	var late time.Time
	for i := range 30 {
		roll(100)
		if i < 29 {
			w.change(record.ChangeInput{Stand: "F5", Role: mill.Work, SetIn: sets[(i+1)%3]})
			w.pass(13 * time.Hour)
			for _, end := range []string{"-T", "-B"} {
				d := w.view(sets[i%3] + end).State.Diameter
				w.regrind(sets[i%3]+end, d-50, d-250)
			}
		}
		late = w.clock.now
	}
	roll(20)
	call := port.Call{Actor: "engineer", Role: port.Engineer, DryRun: true}
	for name, at := range map[string]time.Time{"late": late, "in time": {}} {
		b.Run(fmt.Sprintf("%s, %d pieces", name, pieces), func(b *testing.B) {
			for b.Loop() {
				if _, err := w.RecordChange(w.ctx, call, record.ChangeInput{Stand: "F5", Role: mill.Work, SetIn: "NEXT", At: at}); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
