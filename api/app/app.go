// Package app holds the use cases: one file per noun. It is the one way in:
// the edge calls it, and it alone calls the store.
package app

import (
	"context"
	"encoding/json"
	"errors"
	"time"
)

// App is the service behind the edge.
type App struct {
	store   Store
	clock   Clock
	ids     IDs
	version string
	learner learner
	models  modelCache
}

// New wires the use cases.
func New(store Store, clock Clock, ids IDs, version string) *App {
	return &App{store: store, clock: clock, ids: ids, version: version}
}

// Role is what a caller may do. Each role may do what those before it may.
type Role string

// The roles, least first.
const (
	Viewer   Role = "viewer"
	Grinder  Role = "grinder"
	Shift    Role = "shift"
	Engineer Role = "engineer"
	Admin    Role = "admin"
)

// roleRank orders the roles.
var roleRank = map[Role]int{Viewer: 1, Grinder: 2, Shift: 3, Engineer: 4, Admin: 5}

// May says whether a caller of role r may do what needs role needed. An
// unknown role may nothing.
func (r Role) May(needed Role) bool { return roleRank[r] > 0 && roleRank[r] >= roleRank[needed] }

// Call is who asks and how: everything about a request that is not its body.
type Call struct {
	Actor     string
	Role      Role
	RequestID string
	Operation string // operationId of the contract
	// Key is the idempotency key, empty when none was sent; Fingerprint is a
	// digest of the body it came with.
	Key         string
	Fingerprint string
	DryRun      bool
	// IfVersion is the version the caller read, 0 when none was given.
	IfVersion int64
}

// errDryRun takes a transaction back after its answer is known.
var errDryRun = errors.New("dry run")

// record runs a use case that changes something: in one transaction, once per
// idempotency key, taken back when it is a dry run, with a line of audit. The
// answer remembered for a key is the JSON of T, so T must survive that.
func record[T any](ctx context.Context, a *App, call Call, what string, fn func(w Writer, now time.Time) (T, error)) (T, error) {
	var answer T
	now := a.clock.Now()
	err := a.store.Write(ctx, func(w Writer) error {
		if done, err := recall(w, call, &answer); done || err != nil {
			return err
		}
		var err error
		if answer, err = fn(w, now); err != nil {
			return err
		}
		if call.DryRun {
			return errDryRun
		}
		if err := remember(w, call, answer, now); err != nil {
			return err
		}
		return w.WriteAudit(AuditRow{At: now, By: call.Actor, What: what, RequestID: call.RequestID})
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

// recall looks for the answer of an earlier request with the same key.
func recall(r Reader, call Call, answer any) (done bool, err error) {
	if call.Key == "" || call.DryRun {
		return false, nil
	}
	past, err := r.Remembered(call.Actor, call.Operation, call.Key)
	if IsKind(err, NotFound) {
		return false, nil
	}
	if err != nil {
		return false, err
	}
	if past.Fingerprint != call.Fingerprint {
		return false, fail(KeyReused, "the idempotency key %q was used before with another body; send a new key with a new record", call.Key)
	}
	return true, json.Unmarshal(past.Answer, answer)
}

func remember(w Writer, call Call, answer any, now time.Time) error {
	if call.Key == "" {
		return nil
	}
	kept, err := json.Marshal(answer)
	if err != nil {
		return err
	}
	return w.Remember(Replay{Actor: call.Actor, Operation: call.Operation, Key: call.Key, Fingerprint: call.Fingerprint, Answer: kept, At: now})
}

// IsKind says whether err is an *Error of the kind.
func IsKind(err error, kind Kind) bool {
	var e *Error
	return errors.As(err, &e) && e.Kind == kind
}
