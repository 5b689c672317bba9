package roll

import (
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
