package mill

// Demand is what a piece asks of the rolls it meets.
type Demand string

// The demands. A warm-up piece may be rolled on cold rolls and warms them; a
// demanding one asks for warm ones. A piece that says nothing is an ordinary one.
const (
	WarmUp    Demand = "warm_up"
	Demanding Demand = "demanding"
)

// Cold gives the first demanding piece that would be rolled while rolls still warm
// up that went in before piece before, from 1; ok is false where there is none.
// They warm up over as many pieces as the programme first marks in a row, or over
// usual of them, from the practice, where it marks none.
func (p Programme) Cold(before, usual int) (piece int, ok bool) {
	if marked := p.marked(); marked > 0 {
		usual = marked
	}
	for i := max(1, before); i < before+usual && i <= len(p.Pieces); i++ {
		if p.Pieces[i-1].Demand == Demanding {
			return i, true
		}
	}
	return 0, false
}

// marked is the length of the first run of warm-up pieces.
func (p Programme) marked() (count int) {
	for _, piece := range p.Pieces {
		if piece.Demand == WarmUp {
			count++
		} else if count > 0 {
			break
		}
	}
	return count
}
