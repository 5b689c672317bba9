package port

import (
	"errors"
	"fmt"

	"barrelbook/domain/doubt"
	"barrelbook/domain/next"
	"barrelbook/domain/refusal"
	"barrelbook/domain/roll"
)

// IsKind says whether err is an *Error of the kind.
func IsKind(err error, kind Kind) bool {
	var e *Error
	return errors.As(err, &e) && e.Kind == kind
}

// BookError sorts what the domain refuses: 422 where the input cannot be, 409
// where the book is in another state.
func BookError(err error) error {
	if refusal.FieldsOf(err) != nil {
		return Refused(err)
	}
	var c *roll.Conflict
	if !errors.As(err, &c) {
		return err
	}
	if c.Field != "" {
		return &Error{Kind: Impossible, Detail: err.Error(), Err: &refusal.Error{Fields: []refusal.Field{{Path: c.Field, Limit: c.Why, Do: c.Do, Next: c.Next}}}}
	}
	return &Error{Kind: Conflicting, Detail: err.Error(), Err: err}
}

// Refused wraps a refusal of the domain.
func Refused(err error) error {
	if err == nil {
		return nil
	}
	return &Error{Kind: Impossible, Err: err}
}

// Asked makes the error that asks questions, nil where none is open.
func Asked(open []doubt.Question) error {
	if err := doubt.Ask(open); err != nil {
		return &Error{Kind: Doubtful, Err: err}
	}
	return nil
}

// Kind sorts errors by what the caller can do about them. The edge maps each
// to one status, the client each to one exit code.
type Kind string

// The kinds.
const (
	Malformed     Kind = "malformed"            // say it differently
	Unauthorised  Kind = "unauthorised"         // no token, or one that is not valid
	Forbidden     Kind = "forbidden"            // ask somebody whose role may
	NotFound      Kind = "not-found"            // check the name
	Gone          Kind = "gone"                 // it is not kept any more; begin again
	Conflicting   Kind = "conflict"             // the book or the shop is in another state
	Stale         Kind = "stale"                // read again, then decide again
	Impossible    Kind = "impossible"           // well-formed, but cannot be in the trade
	KeyReused     Kind = "key-reused"           // the idempotency key was used for another body
	Unconditional Kind = "unconditional"        // a precondition is required
	Doubtful      Kind = "to-be-confirmed"      // looks like a slip; say that it is right
	Unavailable   Kind = "database-unavailable" // send it again later; whether it was stored is not known
)

// Error is a refusal of a use case.
type Error struct {
	Kind   Kind
	Detail string // what, why and what to do, in plain words
	Next   []next.Step
	Err    error // cause; a *refusal.Error in it gives the fields
}

func (e *Error) Error() string {
	if e.Detail != "" {
		return e.Detail
	}
	return e.Err.Error()
}

func (e *Error) Unwrap() error { return e.Err }

// Steps are the ways on, its own and those of its cause.
func (e *Error) Steps() []next.Step {
	return append(e.Next[:len(e.Next):len(e.Next)], next.Of(e.Err)...)
}

// Fail makes an Error with a detail.
func Fail(kind Kind, format string, args ...any) error {
	return &Error{Kind: kind, Detail: fmt.Sprintf(format, args...)}
}

// FailNext is Fail with the step that its last words ask for.
func FailNext(step next.Step, kind Kind, format string, args ...any) error {
	return &Error{Kind: kind, Detail: fmt.Sprintf(format, args...), Next: []next.Step{step}}
}
