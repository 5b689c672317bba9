// Package term is what the client knows of the terminal it talks to: three
// streams, whether a person sits at them, how wide they are, and whether
// colour is wanted.
package term

import (
	"bufio"
	"bytes"
	"fmt"
	"io"
	"os"

	"golang.org/x/term"
)

// Streams are the client's only way in and out. Data goes to Out, talk to
// Err, so that a pipe carries nothing but data.
type Streams struct {
	In  io.Reader
	Out io.Writer
	Err io.Writer

	// Quiet drops the talk that says nothing a program needs. Defaults to false.
	Quiet bool
	// NoInput forbids every question. Defaults to false.
	NoInput bool

	typed                 *bufio.Reader // of In, where a question was asked
	inTTY, outTTY, errTTY bool
	colour                bool
	width                 int
	env                   func(string) string
}

// defaultWidth is used where the width of the terminal is not known.
const defaultWidth = 80

// System is the process's own streams. env is os.Getenv outside tests.
func System(env func(string) string) *Streams {
	s := &Streams{
		In: os.Stdin, Out: os.Stdout, Err: os.Stderr,
		inTTY:  term.IsTerminal(int(os.Stdin.Fd())),
		outTTY: term.IsTerminal(int(os.Stdout.Fd())),
		errTTY: term.IsTerminal(int(os.Stderr.Fd())),
		env:    env,
	}
	if w, _, err := term.GetSize(int(os.Stdout.Fd())); err == nil {
		s.width = w
	}
	s.colour = s.outTTY && env("NO_COLOR") == "" && env("TERM") != "dumb"
	return s
}

// Test is streams in memory, with nobody at them and no colour.
func Test(in string) (s *Streams, out, err *bytes.Buffer) {
	out, err = new(bytes.Buffer), new(bytes.Buffer)
	return &Streams{In: bytes.NewBufferString(in), Out: out, Err: err, env: func(string) string { return "" }}, out, err
}

// SetTTY makes the streams look as if a person sat at them, or not.
func (s *Streams) SetTTY(in, out, err bool) { s.inTTY, s.outTTY, s.errTTY = in, out, err }

// SetWidth fixes the width of the terminal.
func (s *Streams) SetWidth(width int) { s.width = width }

// InIsTTY is true when input is typed and not piped.
func (s *Streams) InIsTTY() bool { return s.inTTY }

// OutIsTTY is true when data goes to a screen.
func (s *Streams) OutIsTTY() bool { return s.outTTY }

// ErrIsTTY is true when talk goes to a screen: progress is shown only then.
func (s *Streams) ErrIsTTY() bool { return s.errTTY }

// Width is the room for a line of data. Without a terminal it is fixed, so
// that the same data gives the same text wherever it is piped to.
func (s *Streams) Width() int {
	if s.width <= 0 {
		return defaultWidth
	}
	return s.width
}

// NoColour turns colour off whatever the terminal could do.
func (s *Streams) NoColour() { s.colour = false }

// Say writes one line of talk. Quiet drops it.
func (s *Streams) Say(format string, args ...any) {
	if !s.Quiet {
		fmt.Fprintf(s.Err, format+"\n", args...)
	}
}

// Print writes one line of data.
func (s *Streams) Print(format string, args ...any) {
	fmt.Fprintf(s.Out, format+"\n", args...)
}
