package mill_test

import (
	"testing"

	"barrelbook/domain/mill"
)

// TestColdRollsInFrontOfADemandingPiece: w warm-up, d demanding, o ordinary.
func TestColdRollsInFrontOfADemandingPiece(t *testing.T) {
	for _, c := range []struct {
		pieces        string
		before, usual int
		want          int // 0 for none
	}{
		{"oooood", 1, 5, 0},
		{"oooood", 2, 5, 6},
		{"oooood", 6, 1, 6},
		{"oooood", 6, 0, 0},
		{"oooodd", 4, 3, 5},  // the first of two
		{"wwwodod", 1, 9, 0}, // the programme marks three, whatever the practice says
		{"wwwodod", 3, 0, 5},
		{"owwwwodw", 2, 0, 0}, // one warm-up piece at the end is another run
		{"dooo", 5, 3, 0},
		{"", 1, 3, 0},
	} {
		var p mill.Programme
		for _, mark := range c.pieces {
			p.Pieces = append(p.Pieces, mill.Piece{Demand: map[rune]mill.Demand{'w': mill.WarmUp, 'd': mill.Demanding}[mark]})
		}
		if got, ok := p.Cold(c.before, c.usual); got != c.want || ok != (c.want > 0) {
			t.Errorf("%s, change before %d, %d usual: piece %d (%t), want %d", c.pieces, c.before, c.usual, got, ok, c.want)
		}
	}
}
