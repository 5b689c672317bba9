package record

import (
	"time"

	"barrelbook/api/app/port"
	"barrelbook/domain/roll"
)

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
