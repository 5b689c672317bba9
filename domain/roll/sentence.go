package roll

import (
	"fmt"
	"strings"
	"time"
)

// Sentence is what an entry says, in one plain sentence without its full stop.
func Sentence(body Body) string {
	plain := func(s string) string { return strings.ReplaceAll(s, "_", " ") }
	switch b := body.(type) {
	case Received:
		return fmt.Sprintf("received at %s for mill %s", b.Diameter, b.Mill)
	case Inspected:
		return "tested: " + outcomes(b.Tests)
	case Reground:
		if b.For == ForRedress {
			return fmt.Sprintf("redressed from %s to %s (%s), deepest groove worn %s", b.Found, b.Ground, b.Found-b.Ground, b.GrooveWorn)
		}
		return fmt.Sprintf("ground from %s to %s (%s) for %s", b.Found, b.Ground, b.Found-b.Ground, plain(string(b.For)))
	case Paired:
		return fmt.Sprintf("paired with %s in set %s", b.Partner, b.Set)
	case Unpaired:
		return "set " + b.Set + " broken"
	case Mounted:
		return fmt.Sprintf("put into %s, %s", b.Stand, plain(string(b.Position)))
	case Withdrawn:
		return fmt.Sprintf("taken out of %s: %s", b.Stand, plain(string(b.Why)))
	case PastStay:
		return fmt.Sprintf("carried over from its card: in %s, %s, from %s, %.0f t", b.Stand, plain(string(b.Position)), b.From.UTC().Format(time.DateOnly), b.TonnageT)
	case Incident:
		if b.Stand == "" {
			return "incident: " + plain(string(b.What))
		}
		return fmt.Sprintf("incident in %s: %s", b.Stand, plain(string(b.What)))
	case Conceded:
		return "released by concession without: " + strings.Join(b.Missing, ", ")
	case Held:
		return "held"
	case Released:
		return "released"
	case Regraded:
		return "moved to " + strings.Join(b.Stands, ", ")
	case Scrapped:
		return "scrapped: " + plain(string(b.Why))
	case Corrected:
		if b.With == nil {
			return fmt.Sprintf("entry %d withdrawn", b.Entry)
		}
		text := fmt.Sprintf("entry %d corrected: %s", b.Entry, Sentence(b.With))
		if !b.At.IsZero() {
			text += " on " + b.At.UTC().Format(time.DateOnly)
		}
		return text
	default:
		return string(body.Kind())
	}
}

func outcomes(tests []Test) string {
	lines := make([]string, len(tests))
	for i, t := range tests {
		lines[i] = t.Kind.Words() + " " + string(t.Outcome)
	}
	return strings.Join(lines, ", ")
}
