package conn

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"mime"
	"net/http"
	"net/url"
	"strings"

	"barrelbook/client/oapi"
)

// Answer is what the service said: its bytes, and what they mean.
type Answer[T any] struct {
	Value T
	Raw   []byte // as they came, for programs
	ETag  string // names this version of the thing
}

// Expect reads an answer of the contract's type T and closes it. Anything the
// service refused is a *Problem, no answer at all an *Unreachable.
//
//	roll, err := conn.Expect[oapi.Roll](c.API.GetRoll(ctx, "R1", nil))
func Expect[T any](resp *http.Response, err error) (Answer[T], error) {
	var a Answer[T]
	if err != nil {
		return a, err
	}
	defer resp.Body.Close()
	if err := Refusal(resp); err != nil {
		return a, err
	}
	if a.Raw, err = io.ReadAll(resp.Body); err != nil {
		return a, &Unreachable{Err: fmt.Errorf("the answer broke off: %w", err)}
	}
	a.ETag = resp.Header.Get("ETag")
	if resp.StatusCode == http.StatusNoContent {
		return a, nil
	}
	if err := json.Unmarshal(a.Raw, &a.Value); err != nil {
		return a, &NotOurs{Status: resp.StatusCode, Err: err}
	}
	return a, nil
}

// Refusal is nil for an answer that is none, and reads the problem otherwise.
func Refusal(resp *http.Response) error {
	if resp.StatusCode >= 200 && resp.StatusCode < 300 {
		return nil
	}
	raw, err := io.ReadAll(io.LimitReader(resp.Body, 1<<20))
	if err != nil {
		return &Unreachable{Err: fmt.Errorf("the answer broke off: %w", err)}
	}
	kind, _, _ := mime.ParseMediaType(resp.Header.Get("Content-Type"))
	var p oapi.Problem
	if kind != "application/problem+json" || json.Unmarshal(raw, &p) != nil {
		return &NotOurs{Status: resp.StatusCode}
	}
	p.Status = int64(resp.StatusCode)
	return &Problem{Problem: p, Raw: raw}
}

// Problem is a refusal by the service, in its own words.
type Problem struct {
	oapi.Problem
	Raw []byte
}

func (p *Problem) Error() string {
	if p.Detail != nil && *p.Detail != "" {
		return *p.Detail
	}
	return p.Title
}

// Slug is the last part of the problem's type: "not-found".
func (p *Problem) Slug() string {
	return p.Type[strings.LastIndex(p.Type, "/")+1:]
}

// Unreachable means that there was no answer, or not the whole of one.
type Unreachable struct{ Err error }

func (u *Unreachable) Error() string {
	var addressed *url.Error // says what we say already
	if errors.As(u.Err, &addressed) {
		return addressed.Err.Error()
	}
	return u.Err.Error()
}
func (u *Unreachable) Unwrap() error { return u.Err }

// NotOurs means that something answered, but not in the words of the contract.
type NotOurs struct {
	Status int
	Err    error
}

func (n *NotOurs) Error() string {
	if n.Err != nil {
		return fmt.Sprintf("the answer (status %d) is not as the contract has it: %v", n.Status, n.Err)
	}
	return fmt.Sprintf("status %d from something that does not speak as barrelbook does", n.Status)
}
func (n *NotOurs) Unwrap() error { return n.Err }
