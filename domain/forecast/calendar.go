package forecast

import (
	"slices"
	"time"
)

// Period is a stretch in which the mill is planned to roll at another pace than
// usual: 0 while it is shut down, 1 as usual.
type Period struct {
	From, Until time.Time
	Pace        float64
}

// Calendar is planned periods, past ones too. It turns time into the works' own,
// which goes as fast as the mill rolls, and back: a rhythm read off the works'
// time is that of usual weeks, and a date that is reckoned in it moves with a
// shut-down.
type Calendar struct{ periods []Period }

// NewCalendar takes periods in any order. Where two overlap the one that begins
// later holds, and the earlier one again after it.
func NewCalendar(list []Period) Calendar {
	var edges []time.Time
	for _, p := range list {
		if p.Until.After(p.From) {
			edges = append(edges, p.From, p.Until)
		}
	}
	slices.SortFunc(edges, time.Time.Compare)
	var c Calendar
	for i := 0; i+1 < len(edges); i++ {
		from, until := edges[i], edges[i+1]
		pace, begun := 1.0, time.Time{}
		for _, p := range list {
			if !p.From.After(from) && !p.Until.Before(until) && !p.From.Before(begun) {
				pace, begun = p.Pace, p.From
			}
		}
		if pace != 1 && until.After(from) {
			c.periods = append(c.periods, Period{from, until, pace})
		}
	}
	return c
}

// Worked is a moment in the works' own time.
func (c Calendar) Worked(t time.Time) time.Time {
	if t.IsZero() {
		return t
	}
	lost := 0.0
	for _, p := range c.periods {
		if !t.After(p.From) {
			break
		}
		until := p.Until
		if t.Before(until) {
			until = t
		}
		lost += (1 - p.Pace) * float64(until.Sub(p.From))
	}
	return t.Add(-time.Duration(lost))
}

// Real is the moment of a time of the works', the end of a shut-down for what
// falls into one.
func (c Calendar) Real(w time.Time) time.Time {
	if w.IsZero() {
		return w
	}
	var lost time.Duration
	for _, p := range c.periods {
		t := w.Add(lost)
		if t.Before(p.From) {
			return t
		}
		worked := time.Duration(p.Pace * float64(p.Until.Sub(p.From)))
		if in := t.Sub(p.From); in < worked {
			return p.From.Add(time.Duration(float64(in) / p.Pace))
		}
		lost += p.Until.Sub(p.From) - worked
	}
	return w.Add(lost)
}

// Runs are cycles in the works' own time.
func (c Calendar) Runs(list []Run) []Run {
	if len(c.periods) == 0 {
		return list
	}
	out := make([]Run, len(list))
	for i, r := range list {
		if !r.MountedAt.IsZero() && !r.WithdrawnAt.IsZero() {
			in := r.WithdrawnAt.Sub(r.MountedAt)
			if in > 0 {
				r.InStand = time.Duration(float64(r.InStand) * float64(c.Worked(r.WithdrawnAt).Sub(c.Worked(r.MountedAt))) / float64(in))
			}
		}
		r.Since, r.At, r.MountedAt, r.WithdrawnAt = c.Worked(r.Since), c.Worked(r.At), c.Worked(r.MountedAt), c.Worked(r.WithdrawnAt)
		out[i] = r
	}
	return out
}
