package roll

import (
	"fmt"
)

// follow applies one entry to the state before it, or says why it cannot
// follow. It is the one place that decides what may come after what.
func follow(s State, e Entry) (State, error) {
	if err := mayFollow(s, e); err != nil {
		return State{}, err
	}
	var err error
	switch b := e.Body.(type) {
	case Received:
		s = receive(e, b)
	case Inspected:
		s.tests(e, b.Tests)
	case Reground:
		s, err = regrind(s, e, b)
	case Paired:
		s, err = pair(s, e, b)
	case Unpaired:
		s, err = unpair(s, e, b)
	case Mounted:
		s, err = mount(s, e, b)
	case Withdrawn:
		s, err = withdraw(s, e, b)
	case Incident:
		s.suffer(e, b)
	case Held:
		s, err = hold(s, e)
	case Released:
		s, err = release(s, e)
	case Regraded:
		s, err = regrade(s, e, b)
	case Scrapped:
		s, err = scrap(s, e, b)
	default:
		err = fmt.Errorf("roll %s: entry %d has a body of unknown kind %T", e.Roll, e.Number, e.Body)
	}
	if err != nil {
		return State{}, err
	}
	s.LastAt = e.At
	s.Entries = max(s.Entries, e.Number)
	return s, nil
}

// mayFollow holds the rules that are the same for every kind.
func mayFollow(s State, e Entry) error {
	_, receipt := e.Body.(Received)
	switch {
	case receipt && s.Stage != "":
		return conflict(s, e, "the book is open already", "a roll number is never used again; receive the new roll under another number")
	case !receipt && s.Stage == "":
		return conflict(s, e, "this is dated before the roll's receipt", "check the moment given")
	case s.Stage == StageScrapped:
		return conflict(s, e, "the roll was scrapped on "+moment(s.LastAt), "nothing follows in its book; check the roll number")
	case e.At.Before(s.LastAt):
		return conflict(s, e, "this is dated before the entry ahead of it", "check the moment given")
	}
	return nil
}

func conflict(s State, e Entry, why, do string) *Conflict {
	number := e.Roll
	if number == "" {
		number = s.Roll.Number
	}
	return &Conflict{Roll: number, Entry: e, Why: why, Do: do}
}

// cannotBe is a conflict in which the input itself is at fault.
func cannotBe(field string, s State, e Entry, why, do string) *Conflict {
	c := conflict(s, e, why, do)
	c.Field = field
	return c
}

func receive(e Entry, b Received) State {
	stage := StageNew
	s := State{
		Roll: b.Roll, Mill: b.Mill, Stands: b.Stands,
		Diameter: b.Diameter, CrownUM: b.CrownUM, Hardness: b.Hardness,
		ReceivedAt: e.At,
	}
	if b.Ground {
		stage, s.GroundAt = StageGround, e.At
	}
	s.Stage = stage
	return s
}

func hold(s State, e Entry) (State, error) {
	if s.HeldFor != "" {
		return s, conflict(s, e, "the roll is held already: "+s.HeldFor, "release it first, or leave it held")
	}
	s.HeldFor = e.Reason
	return s, nil
}

func release(s State, e Entry) (State, error) {
	if s.HeldFor == "" {
		return s, conflict(s, e, "the roll is not held", "")
	}
	s.HeldFor = ""
	return s, nil
}

func regrade(s State, e Entry, b Regraded) (State, error) {
	if s.Stage == StageMounted {
		return s, conflict(s, e, "the roll is in "+s.Stand, "take it out first")
	}
	if s.Set != "" {
		return s, conflict(s, e, "the roll is in set "+s.Set, "break the set first: barrelbook set break "+s.Set)
	}
	if b.Mill != "" {
		s.Mill = b.Mill
	}
	s.Stands = b.Stands
	return s, nil
}

func scrap(s State, e Entry, b Scrapped) (State, error) {
	if s.Stage == StageMounted {
		return s, conflict(s, e, "the roll is in "+s.Stand, "take it out first: barrelbook change record")
	}
	if s.Set != "" {
		return s, conflict(s, e, "the roll is in set "+s.Set, "break the set first: barrelbook set break "+s.Set)
	}
	s.Stage, s.ScrapWhy = StageScrapped, b.Why
	return s, nil
}
