package forecast

import "time"

// Presence is a roll's time in the shop; Until is zero while it is there.
type Presence struct{ From, Until time.Time }

// Fleet is the rolls that take turns, those that are gone and those still to come
// included.
type Fleet []Presence

// Mean is how many rolls there were on average between two moments.
func (f Fleet) Mean(from, until time.Time) float64 {
	span := until.Sub(from).Hours()
	if span <= 0 {
		return 0
	}
	sum := 0.0
	for _, p := range f {
		start, end := p.From, p.Until
		if start.Before(from) {
			start = from
		}
		if end.IsZero() || end.After(until) {
			end = until
		}
		if end.After(start) {
			sum += end.Sub(start).Hours()
		}
	}
	return sum / span
}
