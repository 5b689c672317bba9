package app

import (
	"errors"
	"time"

	"barrelbook/domain/mill"
	"barrelbook/domain/practice"
	"barrelbook/domain/refusal"
	"barrelbook/domain/roll"
)

// clockSkew is how far ahead of the service's clock an entry may be dated: the
// clocks of a terminal and of the service differ by seconds.
const clockSkew = 2 * time.Minute

// happened gives the moment of an entry: the one given, or now. It refuses
// the future. A moment that is ahead by no more than clocks differ is now, so
// that nothing in the books lies ahead of what is recorded next.
func happened(at, now time.Time) (time.Time, error) {
	if at.IsZero() {
		return now, nil
	}
	at = at.UTC().Truncate(time.Microsecond)
	if at.After(now.Add(clockSkew)) {
		return at, impossible(refusal.One("at", moment(at), "is in the future; it is now "+moment(now), "give the moment it happened, or leave it out for now"))
	}
	if at.After(now) {
		return now, nil
	}
	return at, nil
}

// enter writes the next entry of a book: the domain decides whether it may
// stand there, late or not, and the store keeps it with the state after it.
func (a *App) enter(w Writer, row RollRow, call Call, at, now time.Time, reason string, body roll.Body) (RollRow, error) {
	number := row.State.Roll.Number
	if received, ok := body.(roll.Received); ok {
		number = received.Roll.Number
	}
	e := roll.Entry{Roll: number, Number: row.Version() + 1, At: at, RecordedAt: now, By: call.Actor, Reason: reason, Body: body}
	after, err := roll.Append(row.State, e, func() ([]roll.Entry, error) { return w.Book(number) })
	if err != nil {
		return RollRow{}, bookError(err)
	}
	return w.Append(row, e, after)
}

// bookError sorts what the domain refuses: 422 where the input cannot be, 409
// where the book is in another state.
func bookError(err error) error {
	if refusal.FieldsOf(err) != nil {
		return impossible(err)
	}
	var c *roll.Conflict
	if !errors.As(err, &c) {
		return err
	}
	if c.Field != "" {
		return &Error{Kind: Impossible, Detail: err.Error(), Err: &refusal.Error{Fields: []refusal.Field{{Path: c.Field, Limit: c.Why, Do: c.Do}}}}
	}
	return &Error{Kind: Conflicting, Detail: err.Error(), Err: err}
}

// impossible wraps a refusal of the domain.
func impossible(err error) error {
	if err == nil {
		return nil
	}
	return &Error{Kind: Impossible, Err: err}
}

// allPractices reads every practice in force; a mill has tens of them.
func allPractices(r Reader) ([]practice.Practice, error) {
	return drain(func(p Page) ([]practice.Practice, string, error) { return r.Practices(p) })
}

// drain reads all pages of a list that is small by its nature.
func drain[T any](list func(Page) ([]T, string, error)) ([]T, error) {
	var all []T
	page := Page{Limit: 500}
	for {
		items, next, err := list(page)
		if err != nil {
			return nil, err
		}
		all = append(all, items...)
		if next == "" {
			return all, nil
		}
		page.After = next
	}
}

// caseOf is the practice case of a roll: its stand is the one it is in, or the
// only one it may serve.
func caseOf(s roll.State) practice.Scope {
	stand := s.Stand
	if stand == "" && len(s.Stands) == 1 {
		stand = s.Stands[0]
	}
	return practice.Scope{Mill: s.Mill, Stand: stand, Role: s.Roll.Role, Grade: s.Roll.Grade}
}

// caseIn is the practice case of a roll in a given stand.
func caseIn(s roll.State, stand mill.Stand) practice.Scope {
	return practice.Scope{Mill: stand.Mill, Stand: stand.Name, Role: s.Roll.Role, Grade: s.Roll.Grade}
}

// partnerOf reads the other roll of the set, nil when there is none.
func partnerOf(r Reader, s roll.State) (*roll.State, error) {
	if s.Partner == "" {
		return nil, nil
	}
	row, err := r.Roll(s.Partner)
	if err != nil {
		return nil, err
	}
	return &row.State, nil
}
