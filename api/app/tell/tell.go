// Package tell tells others what was recorded: those who follow, and
// those who asked to be sent it.
package tell

import (
	"context"
	"time"

	"barrelbook/api/app/port"
)

// poll is how long what another process recorded may stay unnoticed.
const poll = time.Second

// Teller tells what was recorded.
type Teller struct {
	store  port.Store
	clock  port.Clock
	sender port.Sender // nil where no webhooks are sent
	by     string
}

// NewTeller wires the room.
func NewTeller(store port.Store, clock port.Clock) *Teller {
	return &Teller{store: store, clock: clock}
}

// Question asks for events.
type Question struct {
	port.EventFilter
	// After is where to go on; nil begins with the oldest event, or with Newest
	// after the newest.
	After *port.EventPlace
	// Since begins, without After, with what was recorded at this moment or later;
	// zero begins with the oldest.
	Since  time.Time
	Newest bool
	Limit  int
	// Wait is how long to wait for the first event.
	Wait time.Duration
}

// Events gives events in order, and the place up to which was looked: from there
// nothing is seen twice and nothing is left out. It waits for the first one as long
// as is asked. Gone when events after the place are not kept any more.
func (t *Teller) Events(ctx context.Context, q Question) ([]port.Event, port.EventPlace, error) {
	var over <-chan time.Time
	if q.Wait > 0 {
		timer := time.NewTimer(q.Wait)
		defer timer.Stop()
		over = timer.C
	}
	for {
		news := t.store.Recorded()
		events, upTo, err := t.look(ctx, q)
		if err != nil || len(events) > 0 || over == nil {
			return events, upTo, err
		}
		q.After = &upTo
		select {
		case <-news:
		case <-time.After(poll):
		case <-over:
			over = nil
		case <-ctx.Done():
			return nil, upTo, ctx.Err()
		}
	}
}

func (t *Teller) look(ctx context.Context, q Question) (events []port.Event, upTo port.EventPlace, err error) {
	if err := t.store.OrderEvents(ctx); err != nil {
		return nil, upTo, err
	}
	err = t.store.Read(ctx, func(r port.Reader) error {
		if q.After == nil {
			oldest, newest, err := r.EventSpan()
			if err != nil {
				return err
			}
			// Before the oldest: its own moment is not looked at.
			q.After = &port.EventPlace{Position: max(0, oldest.Position-1)}
			switch {
			case q.Newest:
				q.After = &newest
			case !q.Since.IsZero():
				before, err := r.LastEventBefore(q.Since)
				if err != nil {
					return err
				}
				if before.Position > q.After.Position {
					q.After = &before
				}
			}
		}
		events, upTo, err = r.Events(q.EventFilter, *q.After, q.Limit)
		return err
	})
	return events, upTo, err
}
