package roll

import (
	"errors"
	"fmt"
	"sort"
	"time"
)

// Replay reads a whole book into its state. entries are in the order of
// writing; corrections are applied first, then what remains is taken in the
// order in which it happened. It fails with a *Conflict where the book
// contradicts itself.
func Replay(entries []Entry) (State, error) {
	return replay(entries, time.Time{})
}

// ReplayUntil is the state as the book tells it today for a past moment:
// corrections written later count, things that happened later do not.
func ReplayUntil(entries []Entry, until time.Time) (State, error) {
	return replay(entries, until)
}

func replay(entries []Entry, until time.Time) (State, error) {
	effective, err := Effective(entries)
	if err != nil {
		return State{}, err
	}
	var s State
	for _, e := range effective {
		if !until.IsZero() && e.At.After(until) {
			break
		}
		if s, err = follow(s, e); err != nil {
			return State{}, err
		}
	}
	s.Entries = int64(len(entries))
	return s, nil
}

// Effective is the book with its corrections applied, in the order in which
// things happened. Things of the same moment keep the order of writing.
func Effective(entries []Entry) ([]Entry, error) {
	replaced := map[int64]Entry{}
	for _, e := range entries {
		c, ok := e.Body.(Corrected)
		if !ok {
			continue
		}
		if c.Entry < 1 || c.Entry >= e.Number {
			return nil, &Conflict{Roll: e.Roll, Entry: e, Why: "a correction names an entry that is not in the book", Do: "see the book with: barrelbook roll book " + e.Roll}
		}
		if other, twice := replaced[c.Entry]; twice {
			return nil, &Conflict{Roll: e.Roll, Entry: e, InTheWay: other.Number, Why: "that entry has been corrected already", Do: "correct the correction"}
		}
		replaced[c.Entry] = e
	}
	effective := make([]Entry, 0, len(entries))
	for _, e := range entries {
		if _, ok := e.Body.(Corrected); ok {
			continue
		}
		if e = standing(e, replaced); e.Body != nil {
			effective = append(effective, e)
		}
	}
	sort.SliceStable(effective, func(i, j int) bool { return effective[i].At.Before(effective[j].At) })
	return effective, nil
}

// standing follows the chain of corrections of an entry to what stands now.
// Its body is nil when the entry was withdrawn.
func standing(e Entry, replaced map[int64]Entry) Entry {
	number := e.Number
	for {
		correction, ok := replaced[number]
		if !ok {
			return e
		}
		c := correction.Body.(Corrected)
		e.Body = c.With
		if !c.At.IsZero() {
			e.At = c.At
		}
		if e.Body == nil {
			return e
		}
		number = correction.Number
	}
}

// Append gives the state after one more entry. before is the state of the
// book so far. When the entry comes after everything in the book it is applied
// to that state and the book is not read; else book must give the entries and
// all is replayed, so that a late entry or a correction is taken only where
// the whole book stays consistent.
func Append(before State, e Entry, book func() ([]Entry, error)) (State, error) {
	_, correction := e.Body.(Corrected)
	if !correction && !e.At.Before(before.LastAt) {
		s, err := follow(before.clone(), e)
		if err != nil {
			return State{}, err
		}
		s.Entries = before.Entries + 1
		return s, nil
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
// that is in its way.
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
