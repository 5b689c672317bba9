package term

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"io"
	"strings"
)

// ErrNobodyToAsk is returned where a question is needed and nobody can answer.
var ErrNobodyToAsk = errors.New("nobody to ask")

// CanAsk is true when a question would be seen and could be answered.
func (s *Streams) CanAsk() bool { return s.inTTY && s.errTTY && !s.NoInput }

// Confirm asks a question that is answered by yes or no; anything but yes is
// no. Without a person at the terminal it is ErrNobodyToAsk, so that a script
// never hangs on a question; interrupted it is context.Canceled.
func (s *Streams) Confirm(question string) (bool, error) {
	answer, err := s.Ask(question + " [y/N]")
	if errors.Is(err, io.EOF) {
		return false, nil
	}
	switch strings.ToLower(answer) {
	case "y", "yes":
		return true, err
	}
	return false, err
}

// Ask asks a question and gives the line that was typed, without the space around
// it; io.EOF where the input ended instead. It refuses as Confirm does.
func (s *Streams) Ask(question string) (string, error) {
	if !s.CanAsk() {
		return "", ErrNobodyToAsk
	}
	s.Flush()
	fmt.Fprint(s.Err, wrapAll(s.Local(question), s.Width()-10)+" ")
	if s.typed == nil { // kept, as it may have read on to the next answer
		s.typed = bufio.NewReader(s.In)
	}
	type line struct {
		text string
		err  error
	}
	read := make(chan line, 1)
	go func() {
		text, err := s.typed.ReadString('\n')
		read <- line{text, err}
	}()
	select {
	case <-s.Interrupted:
		fmt.Fprintln(s.Err)
		return "", context.Canceled
	case l := <-read:
		if l.err != nil && l.text == "" {
			return "", l.err
		}
		return strings.TrimSpace(l.text), nil
	}
}
