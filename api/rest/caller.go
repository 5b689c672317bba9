package rest

import (
	"context"

	"barrelbook/api/app/port"
)

// Caller is who a request comes from.
type Caller struct {
	Name string
	Role port.Role
	// Mills are those that may be recorded in; none stands for all.
	Mills []string
}

// asked is what a handler must know of its request beside the parameters and
// the body; handlers get only a context.
type asked struct {
	caller      Caller
	requestID   string
	operation   string
	stores      bool // it may store something
	key         bool // it came with an idempotency key
	fingerprint string
	accept      string
	filters     string // the query without limit and cursor
}

type askedKey struct{}

func withAsked(ctx context.Context, a *asked) context.Context {
	return context.WithValue(ctx, askedKey{}, a)
}

func askedOf(ctx context.Context) *asked {
	if a, ok := ctx.Value(askedKey{}).(*asked); ok {
		return a
	}
	return &asked{}
}

// call describes the request to a use case that records.
func call(ctx context.Context, key *string, dryRun *bool) port.Call {
	a := askedOf(ctx)
	c := port.Call{Actor: a.caller.Name, Role: a.caller.Role, RequestID: a.requestID, Operation: a.operation, Fingerprint: a.fingerprint}
	if key != nil {
		c.Key = *key
	}
	if dryRun != nil {
		c.DryRun = *dryRun
	}
	return c
}

// callOn is call for one that changes the version named by If-Match.
func callOn(ctx context.Context, key *string, dryRun *bool, ifMatch *string) (port.Call, error) {
	c := call(ctx, key, dryRun)
	if ifMatch == nil {
		return c, nil
	}
	var err error
	c.IfVersion, err = versionOf(*ifMatch)
	return c, err
}

// callOnRequired is callOn where If-Match must be given.
func callOnRequired(ctx context.Context, key *string, dryRun *bool, ifMatch *string) (port.Call, error) {
	if ifMatch == nil {
		return port.Call{}, refuse(port.Unconditional, "send If-Match with the ETag of the version that you read, so that nobody's change is lost")
	}
	return callOn(ctx, key, dryRun, ifMatch)
}
