package cli

import (
	"context"
	"errors"
	"fmt"
	"strings"

	"barrelbook/client/cli/kit"
	"barrelbook/client/conn"
)

// Interrupted is the exit code of what was ended by a signal, as a shell gives it.
const Interrupted = 130

// The exit codes.
const (
	exitOK          = 0
	exitFailure     = 1
	exitUsage       = 2
	exitNotFound    = 3
	exitAccess      = 4
	exitConflict    = 5
	exitInvalid     = 6
	exitUnavailable = 7
	exitPartial     = 8
	exitInterrupted = Interrupted
)

// exitCodes is the table of the help topic.
var exitCodes = []struct {
	code    int
	meaning string
}{
	{exitOK, "done; also when a list is empty, and when the answer is no"},
	{exitFailure, "failed for a reason that is none of those below"},
	{exitUsage, "the command was typed wrong"},
	{exitNotFound, "there is no such roll, set, stand, campaign or other thing"},
	{exitAccess, "a valid token or another role is needed"},
	{exitConflict, "the book or the shop is in another state, or has changed since it was read"},
	{exitInvalid, "what was given cannot be and was refused"},
	{exitUnavailable, "the service cannot be reached, is stopping, or is too busy"},
	{exitPartial, "done in part: some lines were refused, the others are kept"},
	{exitInterrupted, "interrupted"},
}

// problemCodes maps the last part of a problem's type to an exit code.
var problemCodes = map[string]int{
	"malformed":            exitInvalid,
	"unauthorised":         exitAccess,
	"forbidden":            exitAccess,
	"not-found":            exitNotFound,
	"gone":                 exitConflict,
	"conflict":             exitConflict,
	"stale":                exitConflict,
	"unconditional":        exitConflict,
	"impossible":           exitInvalid,
	"to-be-confirmed":      exitInvalid,
	"key-reused":           exitInvalid,
	"too-large":            exitInvalid,
	"media-type":           exitInvalid,
	"too-many-requests":    exitUnavailable,
	"took-too-long":        exitUnavailable,
	"busy":                 exitUnavailable,
	"draining":             exitUnavailable,
	"not-ready":            exitUnavailable,
	"database-unavailable": exitUnavailable,
	"no-such-path":         exitFailure, // a service that does not know what this client does
	"method-not-allowed":   exitFailure,
	"internal":             exitFailure,
}

// ExitCode is the exit code of an error.
func ExitCode(err error) int {
	var (
		usage   *kit.UsageError
		input   *kit.Input
		partial *kit.Partial
		problem *conn.Problem
		silent  *conn.Unreachable
		missing *kit.Missing
	)
	switch {
	case err == nil:
		return exitOK
	case errors.Is(err, context.Canceled):
		return exitInterrupted
	case errors.As(err, &usage):
		return exitUsage
	case errors.As(err, &input):
		return exitInvalid
	case errors.As(err, &missing):
		return exitNotFound
	case errors.Is(err, kit.ErrInUse):
		return exitConflict
	case errors.As(err, &partial):
		return exitPartial
	case errors.As(err, &problem):
		return problemCode(problem)
	case errors.As(err, &silent):
		return exitUnavailable
	}
	return exitFailure
}

// problemCode goes by the type and, for a type from a later service, by the
// status.
func problemCode(p *conn.Problem) int {
	if code, ok := problemCodes[p.Slug()]; ok {
		return code
	}
	switch p.Status {
	case 401, 403:
		return exitAccess
	case 404:
		return exitNotFound
	case 409, 412, 428:
		return exitConflict
	case 429, 502, 503, 504:
		return exitUnavailable
	}
	if p.Status >= 400 && p.Status < 500 {
		return exitInvalid
	}
	return exitFailure
}

func exitCodeText() string {
	var b strings.Builder
	for _, row := range exitCodes {
		fmt.Fprintf(&b, "  %3d  %s\n", row.code, row.meaning)
	}
	return b.String()
}
