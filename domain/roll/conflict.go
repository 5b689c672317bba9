package roll

import (
	"fmt"
	"time"

	"barrelbook/domain/next"
)

// Conflict says why an entry cannot stand in the book where it is put, and
// which entry is in the way.
type Conflict struct {
	Roll     string
	Entry    Entry  // the one that cannot stand
	InTheWay int64  // number of the entry in the way, 0 when it is the state as a whole
	Why      string // a plain sentence
	Do       string // what to do
	Next     []next.Step
	// Field names the input that cannot be, by the contract's name, where it is
	// the input and not the book that is at fault.
	Field string
}

func (c *Conflict) Error() string {
	text := fmt.Sprintf("roll %s: %s", c.Roll, c.Why)
	if c.InTheWay > 0 {
		text += fmt.Sprintf(" (entry %d)", c.InTheWay)
	}
	if c.Do != "" {
		text += "; " + c.Do
	}
	return text
}

// Steps are the ways on.
func (c *Conflict) Steps() []next.Step { return c.Next }

// conflict is a refusal of e for what the entry inTheWay made of the roll; 0
// where no single entry is in the way.
func conflict(inTheWay int64, s State, e Entry, why, do string, steps ...next.Step) *Conflict {
	number := e.Roll
	if number == "" {
		number = s.Roll.Number
	}
	return &Conflict{Roll: number, Entry: e, InTheWay: inTheWay, Why: why, Do: do, Next: steps}
}

// cannotBe is a conflict in which the input itself is at fault.
func cannotBe(field string, s State, e Entry, why, do string, steps ...next.Step) *Conflict {
	c := conflict(0, s, e, why, do, steps...)
	c.Field = field
	return c
}

// moment prints a time of a book for a person: UTC, and said so.
func moment(t time.Time) string { return t.UTC().Format("2006-01-02 15:04Z") }
