package roll_test

import (
	"errors"
	"fmt"
	"strings"
	"testing"
	"time"

	"barrelbook/domain/mill"
	"barrelbook/domain/quantity"
	"barrelbook/domain/roll"
)

// day gives a moment of the test books, in days after their first morning.
func day(d float64) time.Time {
	return time.Date(2026, 1, 5, 6, 0, 0, 0, time.UTC).Add(time.Duration(d * float64(24*time.Hour)))
}

const number = "W-101"

// step is an entry to write: when it happened, what, and why.
type step struct {
	day    float64
	body   roll.Body
	reason string
}

// book is a book under test with the state that Append gave after each entry.
type book struct {
	entries []roll.Entry
	state   roll.State
}

// write appends one entry, recorded in the order of the calls.
func (b *book) write(s step) error {
	e := roll.Entry{Roll: number, Number: int64(len(b.entries)) + 1, At: day(s.day), RecordedAt: day(100).Add(time.Duration(len(b.entries)) * time.Minute),
		By: "grinder hand", Reason: s.reason, Body: s.body}
	after, err := roll.Append(b.state, e, func() ([]roll.Entry, error) { return b.entries, nil })
	if err != nil {
		return err
	}
	b.entries, b.state = append(b.entries, e), after
	return nil
}

func open(t testing.TB, steps ...step) *book {
	t.Helper()
	b := &book{}
	for i, s := range steps {
		if err := b.write(s); err != nil {
			t.Fatalf("step %d, %T: %v", i+1, s.body, err)
		}
	}
	return b
}

// The entries of an ordinary life. Entry numbers in the tables below count
// from the receipt, which is entry 1.
func received() roll.Received {
	return roll.Received{Mill: "strip", Diameter: 750_000, Hardness: 78, Roll: roll.Roll{
		Number: number, Role: mill.Work, Grade: "hss", NewDiameter: 750_000, BarrelLength: 2_000_000,
		Scrap: roll.ScrapLimits{Nominal: 680_000, ShellDepth: 690_000}}}
}

func reground(found, ground quantity.Micrometre) roll.Reground {
	return roll.Reground{Found: found, FoundAsRead: found, Ground: ground, GaugeUncertainty: 20, MaxPlausible: 8_000, For: roll.ForWear}
}

func with(b roll.Reground, tests ...roll.Test) roll.Reground {
	b.Tests = tests
	return b
}

func paired(set string) roll.Paired     { return roll.Paired{Set: set, Partner: "W-102", Top: true} }
func unpaired(set string) roll.Unpaired { return roll.Unpaired{Set: set} }
func mounted() roll.Mounted {
	return roll.Mounted{Stand: "F1", Position: mill.TopWork, Set: "A", Change: "c", Cooling: 12 * time.Hour, CampaignsBetweenGrinds: 1}
}
func withdrawn() roll.Withdrawn {
	return roll.Withdrawn{Stand: "F1", Position: mill.TopWork, Set: "A", Change: "c", Why: roll.Planned}
}
func incident(what roll.What) roll.Incident { return roll.Incident{Name: "i", What: what} }
func looked(kind roll.TestKind, outcome roll.Outcome) roll.Inspected {
	return roll.Inspected{Tests: []roll.Test{{Kind: kind, Outcome: outcome}}}
}
func passed(kind roll.TestKind) roll.Test { return roll.Test{Kind: kind, Outcome: roll.Passed} }

// ready is a book of a roll that may be mounted: entries 1 to 3.
func ready() []step {
	return []step{{0, received(), ""}, {1, reground(750_000, 749_000), ""}, {2, paired("A"), ""}}
}

// inStand is ready and mounted: entries 1 to 4.
func inStand() []step { return append(ready(), step{3, mounted(), ""}) }

// worn is a roll that came out: entries 1 to 5.
func worn() []step { return append(inStand(), step{4, withdrawn(), ""}) }

// refused checks that an entry is refused as a conflict that names the entry
// in the way, or the field at fault, and says why and what to do; words may be of
// the sentence or of the steps beside it.
func refused(t *testing.T, err error, inTheWay int64, field string, words ...string) {
	t.Helper()
	var c *roll.Conflict
	if !errors.As(err, &c) {
		t.Fatalf("got %v, want a conflict", err)
	}
	if c.InTheWay != inTheWay || c.Field != field {
		t.Errorf("in the way: entry %d field %q, want entry %d field %q: %v", c.InTheWay, c.Field, inTheWay, field, err)
	}
	if c.Roll != number && c.Roll != "" {
		t.Errorf("the conflict is of roll %q: %v", c.Roll, err)
	}
	said := fmt.Sprint(err, c.Next)
	for _, w := range words {
		if !strings.Contains(said, w) {
			t.Errorf("%q does not say %q", said, w)
		}
	}
	if c.Do == "" || !strings.Contains(err.Error(), c.Do) {
		t.Errorf("%q does not say what to do", err)
	}
}

// replays checks that the book read as a whole gives the state reached entry
// by entry.
func replays(t testing.TB, b *book) {
	t.Helper()
	got, err := roll.Replay(b.entries)
	if err != nil {
		t.Fatalf("the book does not replay: %v", err)
	}
	same(t, got, b.state)
}
