package doubt

import (
	"fmt"
	"time"
)

// betweenGrinds is less than a grind takes with its set-up: common practice, no
// source.
const betweenGrinds = 20 * time.Minute

// again asks of a grind that begins within minutes of the one before it.
func (g Grind) again() (Question, bool) {
	since := g.At.Sub(g.Before.GroundAt)
	if g.Before.GroundAt.IsZero() || since < 0 || since >= betweenGrinds {
		return Question{}, false
	}
	return Question{Again, "at", fmt.Sprintf("the roll was ground only %d min before, to %s", int(since.Minutes()), g.Before.Diameter)}, true
}
