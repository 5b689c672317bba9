// Package record writes what happened: everything that changes a book is here.
package record

import (
	"context"
	"errors"
	"sync/atomic"
	"time"

	"barrelbook/api/app/gather"
	"barrelbook/api/app/plan"
	"barrelbook/api/app/port"
)

// errDryRun takes a transaction back after its answer is known.
var errDryRun = errors.New("dry run")

// record runs a use case that changes something: in one transaction, once per
// idempotency key, taken back when it is a dry run, with a line of audit. The
// answer remembered for a key is the JSON of T, so T must survive that.
func record[T any](ctx context.Context, a *Recorder, call port.Call, what string, fn func(w port.Writer, now time.Time) (T, error)) (T, error) {
	var answer T
	err := a.store.Write(ctx, func(w port.Writer) error {
		if done, err := recall(w, call, &answer); done || err != nil {
			return err
		}
		now, err := a.clock.In(w)
		if err != nil {
			return err
		}
		if answer, err = fn(w, now); err != nil {
			return err
		}
		if call.DryRun {
			if err := w.InScope(); err != nil {
				return err
			}
			return errDryRun
		}
		if err := a.remember(w, call, answer, now); err != nil {
			return err
		}
		return w.WriteAudit(call.Audit(now, what))
	})
	if errors.Is(err, errDryRun) {
		err = nil
	}
	if err != nil {
		var none T
		return none, err
	}
	return answer, nil
}

// Recorder writes what happened into the books, and reads them.
type Recorder struct {
	store   port.Store
	clock   port.Clock
	ids     port.IDs
	models  *gather.Models
	planner *plan.Planner // advises what to grind
	tokens  knownTokens

	// KeepAnswers is how long the answer to a request with an idempotency key is
	// kept. 0 keeps it for ever.
	KeepAnswers time.Duration
	// KeepEvents is how long an event is kept. 0 keeps it for ever.
	KeepEvents time.Duration
	// LongestToken bounds the life of a token. 0 means no bound.
	LongestToken time.Duration
	used         usedTokens
	// Changed is true when a roll has been changed or ground or a programme loaded
	// here, so that forecasts are due.
	Changed atomic.Bool
}

// DefaultKeepAnswers is how long an answer is kept where nothing else is said.
const DefaultKeepAnswers = 7 * 24 * time.Hour

// DefaultKeepEvents is how long an event is kept where nothing else is said.
const DefaultKeepEvents = 30 * 24 * time.Hour

// NewRecorder wires the room.
func NewRecorder(store port.Store, clock port.Clock, ids port.IDs, models *gather.Models, planner *plan.Planner) *Recorder {
	return &Recorder{store: store, clock: clock, ids: ids, models: models, planner: planner, KeepAnswers: DefaultKeepAnswers, KeepEvents: DefaultKeepEvents, LongestToken: DefaultLongestToken}
}
