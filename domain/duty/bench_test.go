package duty

import (
	"testing"

	"barrelbook/domain/mill"
)

// BenchmarkPiece is one piece over a seven-stand four-high mill: "all models"
// solves the load along every barrel anew for it and lays its fatigue, "in a
// run" is a piece like the one before, "even load" is the baseline without
// Models; "forecast" is for pieces to come.
func BenchmarkPiece(b *testing.B) {
	run := func(name string, use, anew, forecast bool) {
		b.Run(name, func(b *testing.B) {
			list := make([]*Stand, 7)
			for i := range list {
				if list[i] = full(b); !use {
					list[i].mech = nil
				} else if forecast {
					list[i].mech.close = forForecast
					list[i].makeSolvers()
				}
			}
			p := []mill.Piece{coil(1250, 15000), coil(1260, 15000)}
			b.ReportAllocs()
			n := 0
			for b.Loop() {
				for _, s := range list {
					if anew {
						take(b, s, p[n%2])
						s.Settle()
					} else {
						take(b, s, p[0])
					}
				}
				n++
			}
		})
	}
	run("all models", true, true, false)
	run("in a run", true, false, false)
	run("forecast", true, false, true)
	run("even load", false, false, false)
}
