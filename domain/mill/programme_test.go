package mill_test

import (
	"testing"
	"time"

	"barrelbook/domain/mill"
)

// TestPieceTime counts the planned stops before a piece.
func TestPieceTime(t *testing.T) {
	start := time.Date(2026, 3, 2, 6, 0, 0, 0, time.UTC)
	p := mill.Programme{StartsAt: start, MinutesPerPiece: 2.5, Stops: []mill.PlannedStop{{BeforePiece: 3, Minutes: 20}, {BeforePiece: 5, Minutes: 10}}}
	for number, minutes := range map[int]float64{1: 0, 2: 2.5, 3: 25, 4: 27.5, 5: 40} {
		if got := p.PieceTime(number); !got.Equal(start.Add(time.Duration(minutes * float64(time.Minute)))) {
			t.Errorf("piece %d at %v, want %g minutes after the start", number, got, minutes)
		}
	}
}
