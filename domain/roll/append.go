package roll

import (
	"errors"
	"fmt"
)

// Append gives the state after one more entry. before is the state of the
// book so far. When the entry comes after everything in the book it is applied
// to that state and the book is not read; else book must give the entries and
// all is replayed, so that a late entry or a correction is taken only where
// the whole book stays consistent.
func Append(before State, e Entry, book func() ([]Entry, error)) (State, error) {
	if e.Number != before.Entries+1 {
		return State{}, fmt.Errorf("roll %s: entry %d cannot follow a book of %d", e.Roll, e.Number, before.Entries)
	}
	_, correction := e.Body.(Corrected)
	_, receipt := e.Body.(Received)
	if !correction && (receipt || !e.At.Before(before.LastAt)) {
		s, err := follow(before.clone(), e)
		if err != nil {
			return State{}, err
		}
		s.Entries = e.Number
		return s, nil
	}
	if !correction && e.At.Before(before.ReceivedAt) {
		return State{}, conflict(before.Marks.Received, before, e, "this is dated before the roll's receipt of "+moment(before.ReceivedAt), "check the moment given")
	}
	entries, err := book()
	if err != nil {
		return State{}, err
	}
	s, err := Replay(append(entries[:len(entries):len(entries)], e))
	return s, blame(err, e)
}

// blame turns a contradiction that a new entry causes further on in the book
// round, so that the person hears of the entry they are making and of the one
// that is in its way. What the new entry itself says wrong stays as it is.
func blame(err error, e Entry) error {
	var c *Conflict
	if !errors.As(err, &c) || c.Entry.Number == e.Number {
		return err
	}
	return &Conflict{
		Roll: e.Roll, Entry: e, InTheWay: c.Entry.Number,
		Why: fmt.Sprintf("this would contradict the entry %q of %s: %s", c.Entry.Body.Kind(), moment(c.Entry.At), c.Why),
		Do:  "check the moment given, or correct that entry first",
	}
}

// AppendAll gives the state after several more entries that only together leave
// the book consistent, such as a late mounting with the withdrawal that ends it.
// add has the numbers that follow the book.
func AppendAll(entries, add []Entry) (State, error) {
	s, err := Replay(append(entries[:len(entries):len(entries)], add...))
	var c *Conflict
	if errors.As(err, &c) && len(add) > 0 && c.Entry.Number < add[0].Number {
		err = blame(err, add[0])
	}
	return s, err
}
