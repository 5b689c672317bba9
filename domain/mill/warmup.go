package mill

// Demand is what a piece asks of the rolls it meets.
type Demand string

// The demands. A warm-up piece may be rolled on cold rolls and warms them; a
// demanding one asks for warm ones. A piece that says nothing is an ordinary one.
const (
	WarmUp    Demand = "warm_up"
	Demanding Demand = "demanding"
)

// WarmUpPieces is how many pieces rolls that go in need to warm up: as many as
// the programme first marks in a row or, where it marks none, usual, from the
// practice.
func (p Programme) WarmUpPieces(usual int) int {
	marked := 0
	for _, piece := range p.Pieces {
		if piece.Demand == WarmUp {
			marked++
		} else if marked > 0 {
			break
		}
	}
	if marked > 0 {
		return marked
	}
	return usual
}

// Cold gives the first demanding piece that would be rolled while rolls still warm
// up that went in before piece before, from 1; ok is false where there is none.
// usual is described at [Programme.WarmUpPieces].
func (p Programme) Cold(before, usual int) (piece int, ok bool) {
	warmUp := p.WarmUpPieces(usual)
	for i := max(1, before); i < before+warmUp && i <= len(p.Pieces); i++ {
		if p.Pieces[i-1].Demand == Demanding {
			return i, true
		}
	}
	return 0, false
}
