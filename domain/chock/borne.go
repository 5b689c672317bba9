package chock

import (
	"fmt"
	"time"

	"barrelbook/domain/roll"
)

// Stay is one stretch of a set in a stand, from the mounting of the roll the
// chock sits on.
type Stay struct {
	Set      string
	From, To time.Time // To is zero while it is in
	TonnageT float64
	// Revolutions are those of the roll it sits on.
	Revolutions float64
}

// Borne is what a bearing has run.
type Borne struct {
	Hours       float64
	TonnageT    float64
	Revolutions float64
}

// Borne adds up what the chock has run since a moment, up to now: the time its
// set was in a stand while the chock was on it, and the tonnes of those stays.
// A stay that the moment or a fitting cuts through gives its tonnes and
// revolutions in the proportion of its time, because they are not kept by the
// hour.
func (s State) Borne(stays []Stay, since, now time.Time) Borne {
	var b Borne
	for _, fit := range s.Fits {
		for _, stay := range stays {
			if stay.Set != fit.Set {
				continue
			}
			whole := end(stay.To, now).Sub(stay.From)
			on := earlier(end(stay.To, now), end(fit.To, now)).Sub(later(stay.From, fit.From, since))
			if whole <= 0 || on <= 0 {
				continue
			}
			b.Hours += on.Hours()
			b.TonnageT += stay.TonnageT * float64(on) / float64(whole)
			b.Revolutions += stay.Revolutions * float64(on) / float64(whole)
		}
	}
	return b
}

// Standing is how a chock's bearing stands against its inspections.
type Standing struct {
	Chock string
	Place Place
	Since Borne // what it has run since its last inspection, or since the bearing was put in
	// Failed: the last inspection found it wrong. Owed: it was never inspected,
	// its result is not known, or an inspection is overdue. Overdue alone does
	// not count what was never looked at.
	Failed, Owed, Overdue bool
	Why                   string // in one sentence, empty where nothing is owed
}

// Standing judges the chock now, by the stays of its sets. An inspection result
// that is not known is owed like one that was never made.
func (s State) Standing(stays []Stay, now time.Time) Standing {
	st := Standing{Chock: s.Name, Place: s.Place, Since: s.Borne(stays, later(s.InspectedAt, s.BearingSince), now)}
	over := s.overdue(st.Since)
	name := "chock " + s.Name
	if s.Place != "" {
		name += " (" + s.Place.Words() + ")"
	}
	switch {
	case s.Condition == roll.Failed:
		st.Failed, st.Why = true, fmt.Sprintf("%s failed its inspection of %s", name, moment(s.InspectedAt))
	case s.InspectedAt.IsZero():
		st.Owed, st.Why = true, fmt.Sprintf("not checked: %s has never been inspected; it has run %s", name, st.Since)
	case s.Condition != roll.Passed:
		st.Owed, st.Why = true, fmt.Sprintf("%s has no known result of its inspection of %s", name, moment(s.InspectedAt))
	case over != "":
		st.Owed, st.Why = true, fmt.Sprintf("overdue: %s has run %s since its inspection of %s, and %s", name, st.Since, moment(s.InspectedAt), over)
	}
	st.Overdue = over != ""
	return st
}

// overdue names the first limit that was passed since the last inspection, empty
// where none was.
func (s State) overdue(since Borne) string {
	switch {
	case s.InspectEvery > 0 && since.Hours > s.InspectEvery.Hours():
		return fmt.Sprintf("one is due every %g h", s.InspectEvery.Hours())
	case s.InspectEveryT > 0 && since.TonnageT > s.InspectEveryT:
		return fmt.Sprintf("one is due every %g t", s.InspectEveryT)
	case s.InspectEveryRevolutions > 0 && since.Revolutions > s.InspectEveryRevolutions:
		return fmt.Sprintf("one is due every %g revolutions", s.InspectEveryRevolutions)
	}
	return ""
}

// String is what was run in one phrase.
func (b Borne) String() string {
	return fmt.Sprintf("%.0f h, %.0f t and %.0f revolutions", b.Hours, b.TonnageT, b.Revolutions)
}

func end(t, now time.Time) time.Time {
	if t.IsZero() || t.After(now) {
		return now
	}
	return t
}

func later(times ...time.Time) time.Time {
	latest := times[0]
	for _, t := range times[1:] {
		if t.After(latest) {
			latest = t
		}
	}
	return latest
}

func earlier(a, b time.Time) time.Time {
	if a.Before(b) {
		return a
	}
	return b
}
