package world

import (
	"time"

	"barrelbook/domain/mill"
)

// Event is something that the shop writes down.
type Event interface{ When() time.Time }

// At is the moment of an event.
type At struct{ Time time.Time }

// When is the moment of the event.
func (a At) When() time.Time { return a.Time }

// Receipt is a roll that came, ground to DiameterUM as read.
type Receipt struct {
	At
	Roll       *Roll
	DiameterUM int64
}

// Built is a set of two rolls, Broken one that is none any more.
type Built struct {
	At
	Set *Set
}

// Broken is a set that is none any more, as one of its rolls is gone.
type Broken struct {
	At
	Set *Set
}

// Announced is a programme before its first piece.
type Announced struct {
	At
	Programme mill.Programme
	Number    int

	rolled []mill.Piece // as they will be rolled; a dropped piece has no passes
	day    []float64    // each stand's truth of the day
}

// Rolled is pieces as they were rolled, in order, all before At.
type Rolled struct {
	At
	Pieces []mill.Piece
}

// Incident is a cobble in a stand, after which its set comes out.
type Incident struct {
	At
	Stand string
}

// Change is a set out of a stand and another in. Either may be nil.
type Change struct {
	At
	Stand   string
	Out, In *Set
	Why     Why
	// Piece is how many of the programme's pieces were through.
	Piece int
	// DeepestUM is the true wear of the rolls that came out.
	DeepestUM [2]float64
}

// Why a set came out.
type Why string

// The reasons.
const (
	Chosen Why = "chosen"
	Passed Why = "limit passed" // the strip showed it
	Mishap Why = "mishap"
)

// Regrind is a roll that was ground.
type Regrind struct {
	At
	Roll              *Roll
	Grinder           int
	FoundUM, GroundUM int64 // as written down
	// ReadFoundUM and ReadGroundUM are what the gauge said: a slip makes them differ.
	ReadFoundUM, ReadGroundUM int64
	ForIncident               bool
	Scraps                    bool
	// TrueWearUM is at the middle of the barrel, DeepestUM at the worst place.
	TrueWearUM, DeepestUM, TrueGroundUM float64
}

// Slipped says whether a figure was written down wrongly.
func (g *Regrind) Slipped() bool {
	return g.FoundUM != g.ReadFoundUM || g.GroundUM != g.ReadGroundUM
}

// Lost is a roll that broke or spalled beyond repair.
type Lost struct {
	At
	Roll *Roll
}
