package chock

import "time"

// Stay is one stretch of a set in a stand, from the mounting of the roll the
// chock sits on.
type Stay struct {
	Set      string
	From, To time.Time // To is zero while it is in
	TonnageT float64
}

// Borne is what a bearing has run.
type Borne struct {
	Hours    float64
	TonnageT float64
}

// Borne adds up what the chock has run since a moment, up to now: the time its
// set was in a stand while the chock was on it, and the tonnes of those stays.
// A stay that the moment or a fitting cuts through gives its tonnes in the
// proportion of its time, because they are not kept by the hour.
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
		}
	}
	return b
}

// Due says whether the bearing has run longer since its last inspection, or
// since it was put in, than the mill allows.
func (s State) Due(stays []Stay, now time.Time) (sinceH float64, due bool) {
	since := later(s.InspectedAt, s.BearingSince)
	h := s.Borne(stays, since, now).Hours
	return h, s.InspectEvery > 0 && h > s.InspectEvery.Hours()
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
