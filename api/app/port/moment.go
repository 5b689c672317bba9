package port

import (
	"time"
)

// ClockSkew is how far ahead of the service's clock an entry may be dated: the
// clocks of a terminal and of the service differ by seconds.
const ClockSkew = 2 * time.Minute

// EndOfTime is covered by the stays that have not ended, and by no other: who is
// in a stand is told by the books and not by a clock.
var EndOfTime = time.Date(9999, 12, 31, 0, 0, 0, 0, time.UTC)

// Moment prints a time for a person.
func Moment(t time.Time) string { return t.UTC().Format("2006-01-02 15:04Z") }
