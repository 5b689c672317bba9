package term

import (
	"bufio"
	"errors"
	"fmt"
	"strings"
)

// ErrNobodyToAsk is returned where a question is needed and nobody can answer.
var ErrNobodyToAsk = errors.New("nobody to ask")

// CanAsk is true when a question would be seen and could be answered.
func (s *Streams) CanAsk() bool { return s.inTTY && s.errTTY && !s.NoInput }

// Confirm asks a question that is answered by yes or no; anything but yes is
// no. Without a person at the terminal it is ErrNobodyToAsk, so that a script
// never hangs on a question.
func (s *Streams) Confirm(question string) (bool, error) {
	if !s.CanAsk() {
		return false, ErrNobodyToAsk
	}
	s.Flush()
	fmt.Fprintf(s.Err, "%s [y/N] ", wrapAll(s.Local(question), s.Width()-len(" [y/N] ")))
	if s.typed == nil { // kept, as it may have read on to the next answer
		s.typed = bufio.NewReader(s.In)
	}
	line, err := s.typed.ReadString('\n')
	if err != nil && line == "" {
		return false, nil
	}
	switch strings.ToLower(strings.TrimSpace(line)) {
	case "y", "yes":
		return true, nil
	}
	return false, nil
}
