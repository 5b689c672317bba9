package term

import (
	"bytes"
	"errors"
	"io"
	"os"
	"os/exec"
	"os/signal"
	"strings"
)

// screen keeps what is written for a person until the command ends, to see then
// whether it is more than the terminal shows at once.
type screen struct {
	held   bytes.Buffer
	height int
	pager  string // a command line for the shell
}

// lateWriter gives what it gets to the screen where there is one, and else on.
type lateWriter struct {
	s  *Streams
	to io.Writer
}

func (w lateWriter) Write(p []byte) (int, error) {
	if w.s.screen != nil {
		return w.s.screen.held.Write(p)
	}
	n, err := w.to.Write(p)
	if err != nil && w.s.failed == nil {
		w.s.failed = err
	}
	return n, err
}

// NoPager shows everything as it comes, from here on.
func (s *Streams) NoPager() { s.Flush(); s.screen = nil }

// Flush writes what is held, without a pager: before a question, and where a
// command goes on for long.
func (s *Streams) Flush() {
	if s.screen == nil {
		return
	}
	held := s.screen.held.Bytes()
	s.screen = nil
	s.Out.Write(held)
}

// Close shows what is still held, through the pager where it is longer than the
// screen, and gives the first error of all that was written: an answer that did
// not arrive is not an answer.
func (s *Streams) Close() error {
	if len(s.spared) > 0 {
		s.Say("Left out for want of room: %s. --wide shows all.", strings.Join(s.spared, "; "))
	}
	if s.screen != nil {
		held := *s.screen
		s.screen = nil
		if bytes.Count(held.held.Bytes(), []byte("\n")) < held.height || !s.paged(held) {
			s.Out.Write(held.held.Bytes())
		}
	}
	return s.failed
}

// paged runs the pager, and is false where none could be started.
func (s *Streams) paged(held screen) bool {
	pager := exec.Command("sh", "-c", held.pager)
	pager.Stdin, pager.Stdout, pager.Stderr = bytes.NewReader(held.held.Bytes()), os.Stdout, os.Stderr
	// less alone would show the codes of colours as text and stay on a short page.
	pager.Env = append(os.Environ(), "LESS="+orDefault(s.env("LESS"), "FRX"), "LESSCHARSET="+orDefault(s.env("LESSCHARSET"), "utf-8"))
	signal.Ignore(os.Interrupt) // that is the pager's, which stays
	var exit *exec.ExitError
	if err := pager.Run(); errors.As(err, &exit) {
		return exit.ExitCode() != 126 && exit.ExitCode() != 127 // the shell found none
	} else {
		return err == nil
	}
}

func orDefault(text, otherwise string) string {
	if text == "" {
		return otherwise
	}
	return text
}
