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
	"slices"
	"strconv"
	"time"

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
	// Wide lets lines be as long as they come. Defaults to false.
	Wide bool
	// Interrupted ends a question that waits. Defaults to never.
	Interrupted <-chan struct{}
	// Zone is that of the clock on the wall. Defaults to UTC.
	Zone *time.Location

	typed                 *bufio.Reader // of In, where a question was asked
	inTTY, outTTY, errTTY bool
	colour                bool
	width                 int
	env                   func(string) string

	bare   io.Writer // Out as programs get it
	screen *screen   // nil where data goes out as it comes
	failed error     // the first error of writing data
	spared []string  // headings of columns that there was no room for
}

const (
	// defaultWidth is used where the width of the terminal is not known.
	defaultWidth = 80
	// leastWidth is what a figure with its name needs.
	leastWidth = 40
	// endless is the width of a line without an end.
	endless = 1 << 20
)

// System is the process's own streams. env is os.Getenv outside tests.
func System(env func(string) string) *Streams {
	s := &Streams{
		In:    os.Stdin,
		inTTY: term.IsTerminal(int(os.Stdin.Fd())), outTTY: term.IsTerminal(int(os.Stdout.Fd())), errTTY: term.IsTerminal(int(os.Stderr.Fd())),
		env: env,
	}
	s.bare = lateWriter{s, os.Stdout}
	s.Out, s.Err = s.bare, os.Stderr
	if !speaksUTF8(env) {
		s.Out, s.Err = asciiWriter{s.Out}, asciiWriter{s.Err}
	}
	s.width, _ = strconv.Atoi(env("COLUMNS")) // of those who pipe
	if w, h, err := term.GetSize(int(os.Stdout.Fd())); err == nil {
		s.width = w
		if s.outTTY && s.errTTY && h > 0 && env("TERM") != "dumb" {
			s.screen = &screen{height: h, pager: orDefault(env("BARRELBOOK_PAGER"), orDefault(env("PAGER"), "less"))}
		}
	}
	s.colour = s.outTTY && env("NO_COLOR") == "" && env("TERM") != "dumb"
	return s
}

// Test is streams in memory, with nobody at them, no colour and no end to a line.
func Test(in string) (s *Streams, out, err *bytes.Buffer) {
	out, err = new(bytes.Buffer), new(bytes.Buffer)
	s = &Streams{In: bytes.NewBufferString(in), Err: err, Wide: true, env: func(string) string { return "" }}
	s.bare = lateWriter{s, out}
	s.Out = s.bare
	return s, out, err
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

// Width is the room for a line. Without a terminal it is COLUMNS or fixed, so that
// the same data gives the same text wherever it is piped to.
func (s *Streams) Width() int {
	switch {
	case s.Wide:
		return endless
	case s.width <= 0:
		return defaultWidth
	}
	return max(s.width, leastWidth)
}

// NoColour turns colour off whatever the terminal could do.
func (s *Streams) NoColour() { s.colour = false }

// Say writes one line of talk. Quiet drops it.
func (s *Streams) Say(format string, args ...any) {
	if !s.Quiet {
		s.Tell(format, args...)
	}
}

// Tell writes one line of talk that is never dropped. Where both streams are one
// screen and data is held for it, the line keeps its place after the data.
func (s *Streams) Tell(format string, args ...any) {
	to := s.Err
	if s.screen != nil && s.screen.held.Len() > 0 {
		to = s.Out
	}
	fmt.Fprintln(to, wrapAll(s.Local(fmt.Sprintf(format, args...)), s.Width()))
}

// Print writes a text for people, its lines wrapped to the width.
func (s *Streams) Print(format string, args ...any) {
	fmt.Fprintln(s.Out, wrapAll(s.Local(fmt.Sprintf(format, args...)), s.Width()))
}

// LeftOut notes what there was no room for, to be said once at the end.
func (s *Streams) LeftOut(what []string) {
	for _, name := range what {
		if !slices.Contains(s.spared, name) {
			s.spared = append(s.spared, name)
		}
	}
}

// Block writes lines that were laid out already.
func (s *Streams) Block(text string) { io.WriteString(s.Out, text) }

// Data writes for programs: the same bytes in every locale.
func (s *Streams) Data() io.Writer { return s.bare }
