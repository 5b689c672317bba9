package record

import (
	"time"

	"barrelbook/api/app/port"
	"barrelbook/domain/refusal"
	"barrelbook/domain/roll"
)

// happened gives the moment of an entry: the one given, or now. It refuses
// the future. A moment that is ahead by no more than clocks differ is now, so
// that nothing in the books lies ahead of what is recorded next.
func happened(at, now time.Time) (time.Time, error) {
	if at.IsZero() {
		return now, nil
	}
	at = at.UTC().Truncate(time.Microsecond)
	if at.After(now.Add(port.ClockSkew)) {
		return at, port.Refused(refusal.One("at", port.Moment(at), "is in the future; it is now "+port.Moment(now), "give the moment it happened, or leave it out for now"))
	}
	if at.After(now) {
		return now, nil
	}
	return at, nil
}

// enter writes the next entry of a book: the domain decides whether it may
// stand there, late or not, and the store keeps it with the state after it.
func (a *Recorder) enter(w port.Writer, row port.RollRow, call port.Call, at, now time.Time, reason string, body roll.Body) (port.RollRow, error) {
	number := row.State.Roll.Number
	if received, ok := body.(roll.Received); ok {
		number = received.Roll.Number
	}
	e := roll.Entry{Roll: number, Number: row.Version() + 1, At: at, RecordedAt: now, By: call.Actor, Reason: reason, Body: body}
	after, err := roll.Append(row.State, e, func() ([]roll.Entry, error) { return w.Book(number) })
	if err != nil {
		return port.RollRow{}, port.BookError(err)
	}
	return w.Append(row, e, after)
}
