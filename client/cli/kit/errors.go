package kit

import (
	"context"
	"errors"
	"fmt"
	"regexp"
	"strings"

	"barrelbook/client/conn"
)

// UsageError is a command that was typed wrong. Help names the command whose
// help shows how.
type UsageError struct {
	Err  error
	Help string
}

func (e *UsageError) Error() string { return e.Err.Error() }
func (e *UsageError) Unwrap() error { return e.Err }

// Usagef makes a UsageError.
func Usagef(format string, args ...any) error {
	return &UsageError{Err: fmt.Errorf(format, args...)}
}

// Input is a figure or a file that cannot be taken: well typed, wrongly filled.
type Input struct{ Err error }

func (e *Input) Error() string { return e.Err.Error() }
func (e *Input) Unwrap() error { return e.Err }

// Partial is work that was done for some and not for others.
type Partial struct{ Done, Refused int64 }

func (e *Partial) Error() string {
	if e.Done == 0 {
		return fmt.Sprintf("all %d were refused, and none is kept", e.Refused)
	}
	return fmt.Sprintf("%d of %d were refused; the others are kept", e.Refused, e.Done+e.Refused)
}

// Interrupted is work that was ended in the middle; Kept says what stays of it.
type Interrupted struct{ Kept string }

func (e *Interrupted) Error() string { return "interrupted: " + e.Kept }
func (e *Interrupted) Unwrap() error { return context.Canceled }

// ErrStopped is a question that was answered with no.
var ErrStopped = errors.New("stopped; nothing was changed")

// Failure tells a person what failed and what to type next.
type Failure struct {
	What string            // "the regrind of R1 was not recorded"
	Next []string          // commands that show the way on
	Flag map[string]string // the flag behind each field of the contract
	Err  error
}

func (e *Failure) Error() string { return e.What + ": " + e.Err.Error() }
func (e *Failure) Unwrap() error { return e.Err }

// Explain wraps an error for a person; nil stays nil.
func (e Failure) Explain(err error) error {
	if err == nil {
		return nil
	}
	e.Err = err
	return &e
}

// Lines are the reasons, one line for each field, by the flag's name where
// the field has one.
func (e *Failure) Lines() []string {
	var p *conn.Problem
	if !errors.As(e.Err, &p) || p.Errors == nil || len(*p.Errors) == 0 {
		return strings.Split(e.Err.Error(), "\n")
	}
	var lines []string
	for _, field := range *p.Errors {
		name := FlagOf(field.Pointer, e.Flag)
		if name == "" {
			lines = append(lines, field.Detail)
			continue
		}
		lines = append(lines, name+": "+field.Detail)
	}
	return lines
}

var index = regexp.MustCompile(`/\d+`)

// FlagOf is the flag behind a pointer of the contract, or the field as the
// pointer names it. "#/tests/1/outcome" is looked up as "tests/1/outcome",
// "tests/outcome" and "tests"; an index becomes its ordinal for people.
func FlagOf(pointer string, flags map[string]string) string {
	path := strings.TrimPrefix(strings.TrimPrefix(pointer, "#"), "/")
	place := ""
	if i := index.FindString(path); i != "" {
		var n int
		fmt.Sscanf(i, "/%d", &n)
		place = fmt.Sprintf(" (number %d)", n+1)
	}
	bare := index.ReplaceAllString(path, "")
	first, _, _ := strings.Cut(bare, "/")
	for _, key := range []string{path, bare, first} {
		if flag, ok := flags[key]; ok {
			return flag + place
		}
	}
	return path
}
