// Package chock keeps the book of a chock and the bearing in it: received,
// fitted to a place of a set, taken off, inspected. Hours and tonnes are not
// entered: they follow from the stays of its sets in stands.
package chock

import (
	"fmt"
	"strings"
	"time"

	"barrelbook/domain/mill"
	"barrelbook/domain/next"
	"barrelbook/domain/roll"
)

// Place is where a chock sits on a set: which roll, which side of the mill.
type Place string

// The places.
const (
	TopDrive       Place = "top_drive"
	TopOperator    Place = "top_operator"
	BottomDrive    Place = "bottom_drive"
	BottomOperator Place = "bottom_operator"
)

// Top says whether the place is on the top roll.
func (p Place) Top() bool { return p == TopDrive || p == TopOperator }

// Words is the place as a person says it.
func (p Place) Words() string { return strings.ReplaceAll(string(p), "_", " ") }

// Chock is what does not change but by an inspection that puts a new bearing
// in.
type Chock struct {
	Name         string
	Mill         string
	Role         mill.Role
	Bearing      string
	InspectEvery time.Duration // hours in stands between inspections; 0 for no limit
	// InspectEveryT and InspectEveryRevolutions are the same in tonnes and in
	// revolutions.
	InspectEveryT           float64
	InspectEveryRevolutions float64
}

// Kind is what happened to a chock.
type Kind string

// The kinds.
const (
	KindReceived  Kind = "received"
	KindFitted    Kind = "fitted"
	KindTakenOff  Kind = "taken_off"
	KindInspected Kind = "inspected"
)

// Body is what an entry says.
type Body interface{ Kind() Kind }

// Received opens the book.
type Received struct {
	Chock Chock
	Note  string
}

// Fitted puts the chock on a set.
type Fitted struct {
	Set   string
	Place Place
	Note  string
}

// TakenOff takes it off its set.
type TakenOff struct{ Note string }

// Inspected is a look at the bearing. NewBearing, when not empty, was put in.
type Inspected struct {
	Outcome    roll.Outcome
	NewBearing string
	Note       string
}

// Kind names each body.
func (Received) Kind() Kind  { return KindReceived }
func (Fitted) Kind() Kind    { return KindFitted }
func (TakenOff) Kind() Kind  { return KindTakenOff }
func (Inspected) Kind() Kind { return KindInspected }

// Entry is one line of the book. Entries are never changed or removed.
type Entry struct {
	Chock      string
	Number     int64 // by order of writing, from 1
	At         time.Time
	RecordedAt time.Time
	By         string
	Body       Body
}

// Fit is one stretch on a set; To is zero while it is on it.
type Fit struct {
	Set      string
	Place    Place
	From, To time.Time
}

// State is what the book says.
type State struct {
	Chock
	ReceivedAt   time.Time
	Set          string // empty when on no set
	Place        Place
	FittedAt     time.Time
	Condition    roll.Outcome // of the last inspection; unknown before the first
	InspectedAt  time.Time    // zero when never
	BearingSince time.Time
	LastAt       time.Time
	Entries      int64
	Fits         []Fit
}

// Conflict says why an entry cannot stand in the book.
type Conflict struct {
	Chock, Why, Do string
	Next           []next.Step
}

func (c *Conflict) Error() string {
	text := fmt.Sprintf("chock %s: %s", c.Chock, c.Why)
	if c.Do != "" {
		text += "; " + c.Do
	}
	return text
}

// Steps are the ways on.
func (c *Conflict) Steps() []next.Step { return c.Next }

// Replay reads a book into its state, or says where it contradicts itself.
func Replay(entries []Entry) (State, error) {
	var s State
	for _, e := range entries {
		var err error
		if s, err = Follow(s, e); err != nil {
			return State{}, err
		}
	}
	return s, nil
}

// Follow applies one entry to the state before it. Entries come in the order in
// which things happened.
func Follow(s State, e Entry) (State, error) {
	no := func(why, do string, steps ...next.Step) (State, error) {
		return State{}, &Conflict{Chock: e.Chock, Why: why, Do: do, Next: steps}
	}
	_, receipt := e.Body.(Received)
	switch {
	case receipt && s.Entries > 0:
		return no("the book is open already", "a name is never used again")
	case !receipt && s.Entries == 0:
		return no("there is no such book", "add it first", next.AddChock())
	case e.At.Before(s.LastAt):
		return no("this is dated before the entry of "+moment(s.LastAt), "check the moment given")
	}
	switch b := e.Body.(type) {
	case Received:
		s = State{Chock: b.Chock, ReceivedAt: e.At, BearingSince: e.At, Condition: roll.Unknown}
	case Fitted:
		if s.Set != "" {
			return no(fmt.Sprintf("it is on set %s (%s) since %s", s.Set, s.Place, moment(s.FittedAt)), "take it off first", next.TakeChockOff(s.Name))
		}
		if s.Condition == roll.Failed {
			return no("it failed its inspection of "+moment(s.InspectedAt), "put it right and inspect it again", next.InspectChock(s.Name))
		}
		s.Set, s.Place, s.FittedAt = b.Set, b.Place, e.At
		s.Fits = append(s.Fits[:len(s.Fits):len(s.Fits)], Fit{Set: b.Set, Place: b.Place, From: e.At})
	case TakenOff:
		if s.Set == "" {
			return no("it is on no set", "")
		}
		fits := append([]Fit(nil), s.Fits...)
		fits[len(fits)-1].To = e.At
		s.Set, s.Place, s.FittedAt, s.Fits = "", "", time.Time{}, fits
	case Inspected:
		s.Condition, s.InspectedAt = b.Outcome, e.At
		if b.NewBearing != "" {
			s.Bearing, s.BearingSince = b.NewBearing, e.At
		}
	default:
		return State{}, fmt.Errorf("chock %s: entry %d has a body of unknown kind %T", e.Chock, e.Number, e.Body)
	}
	s.LastAt = e.At
	s.Entries++
	return s, nil
}

func moment(t time.Time) string { return t.UTC().Format("2006-01-02 15:04Z") }
