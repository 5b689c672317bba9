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
	if _, peak := w.Growth.(peak); peak {
		if Greatest(lines, 1) > bound {
			return 0
		}
		return math.Inf(1)
	}
	if Greatest(lines, 0) > bound {
		return 0
	}
	times := math.Inf(1)
	for _, l := range lines {
		if l.Added > 0 {
			times = min(times, (bound-l.Borne)/l.Added)
		}
	}
	return times
}

// peak is a growth that takes the greatest of its pieces: doing them again adds
// nothing.
type peak interface{ peaks() }

// Peaks is true where the greatest piece alone decides.
func (w *Watch) Peaks() bool {
	_, peaks := w.Growth.(peak)
	return peaks
}

func (Peaking) peaks() {}

func (*Gaping) peaks() {}

func (*Stepping) peaks() {}

// Wavers is true where a roll that goes in later may come to a limit sooner: what
// its wear would have made up for is then not made up for.
func (w *Watch) Wavers() bool {
	_, wavers := w.Growth.(*Gaping)
	return wavers
}
