package limit

import (
	"math"

	"barrelbook/domain/duty"
	"barrelbook/domain/mill"
	"barrelbook/domain/standing"
)

// Again lists what can end the campaign of a roll where what it does is the same
// over and over: use is once of it.
func Again(r *standing.Roll, stand mill.Stand, use duty.Usage) []Watch {
	s := &standing.Stand{Stand: stand, Work: standing.Set{Rolls: []standing.Roll{*r}}}
	a := NewAhead(s, make([]mill.Piece, 1))
	a.Uses[0][0] = use
	a.Settle(nil)
	return Watches(a)
}

// Times is how often the whole of what is ahead can be done before the limit is
// reached, at a wear rate that is off by a factor: 0 where it is past, +Inf where
// it never comes.
func (w *Watch) Times(rate float64) float64 {
	bound := w.Bound
	if w.Spread.Rate {
		bound /= rate
	}
	lines := w.Growth.Lines(nil, []Span{{0, w.pieces, 1}})
	if _, peak := w.Growth.(Peaking); peak {
		if Greatest(lines, 1) > bound {
			return 0
		}
		return math.Inf(1)
	}
	times := math.Inf(1)
	for _, l := range lines {
		if l.Added > 0 {
			times = min(times, max(0, bound-l.Borne)/l.Added)
		}
	}
	return times
}
