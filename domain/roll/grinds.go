package roll

import (
	"time"

	"barrelbook/domain/quantity"
)

// Grind is one regrind with what it ended: the way from one ground diameter to
// the next. It is what wear, stock and consumption are learned from.
type Grind struct {
	Roll       string
	Entry      int64 // of the book: the one that stands, after corrections
	At         time.Time
	RecordedAt time.Time
	// Since is the grind before, or the receipt: campaigns that ended after it,
	// up to At, are the ones this grind ended.
	Since      time.Time
	LastGround quantity.Micrometre
	Found      quantity.Micrometre
	Ground     quantity.Micrometre
	For        Purpose
	Stays      []TimeInStand
	// Incidents counts the mishaps the roll bore in between.
	Incidents int
}

// TimeInStand is what a grind keeps of a stay.
type TimeInStand struct {
	Stand    string
	From, To time.Time
}

// Wear is what rolling took, on diameter. It is negative where the gauge read
// more than was left by the grind before.
func (g Grind) Wear() quantity.Micrometre { return g.LastGround - g.Found }

// Stock is what the wheel took, on diameter.
func (g Grind) Stock() quantity.Micrometre { return g.Found - g.Ground }

// Removed is both together.
func (g Grind) Removed() quantity.Micrometre { return g.LastGround - g.Ground }

// Normal says whether it was an ordinary grind. What cracks and incidents take
// is kept apart everywhere: averaged in, it spoils every figure.
func (p Purpose) Normal() bool { return p != ForCrack && p != ForIncident }

// TeachesWear says whether its wear is that of rolling alone: an ordinary grind
// that ended at least one stay in a stand, all in one stand, as a rate belongs
// to a stand.
func (g Grind) TeachesWear() bool {
	return g.For.Normal() && g.For != ForIncoming && g.Stand() != ""
}

// Stand is where it was, empty when nowhere or in more than one.
func (g Grind) Stand() string {
	stand := ""
	for i, s := range g.Stays {
		if i > 0 && s.Stand != stand {
			return ""
		}
		stand = s.Stand
	}
	return stand
}

// Grinds reads the regrinds out of a book that stands as Effective gives it: in
// the order of happening, corrected ones as they now are. A book that Replay
// takes is one that Grinds reads.
func Grinds(effective []Entry) []Grind {
	var grinds []Grind
	var open Grind // what the next grind will end
	var in TimeInStand
	for _, e := range effective {
		switch b := e.Body.(type) {
		case Received:
			open = Grind{Since: e.At, LastGround: b.Diameter}
		case Mounted:
			in = TimeInStand{Stand: b.Stand, From: e.At}
		case Withdrawn:
			in.To = e.At
			open.Stays = append(open.Stays, in)
		case PastStay:
			open.Stays = append(open.Stays, TimeInStand{Stand: b.Stand, From: b.From, To: e.At})
		case Incident:
			open.Incidents++
		case Reground:
			g := open
			g.Roll, g.Entry, g.At, g.RecordedAt = e.Roll, e.Number, e.At, e.RecordedAt
			g.Found, g.Ground, g.For = b.Found, b.Ground, b.For
			grinds = append(grinds, g)
			open = Grind{Since: e.At, LastGround: b.Ground}
		}
	}
	return grinds
}
