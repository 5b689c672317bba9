// Package release says whether a roll may go out: fit only when everything the
// practice asks of it was looked at and is within limits. What was not looked
// at is not checked, never fit.
package release

import (
	"slices"
	"strings"
	"time"

	"barrelbook/domain/chock"
	"barrelbook/domain/next"
	"barrelbook/domain/practice"
	"barrelbook/domain/roll"
)

// Word is one of the three words.
type Word string

// The words.
const (
	// Fit: every test and measurement asked is there, in date, within limits.
	Fit Word = "fit"
	// NotReleased: nothing was found wrong, but something asked is missing,
	// overdue or carried over from before the grind.
	NotReleased Word = "not_released"
	// NotFit: something was found wrong, is owed after a mishap, held, or past a
	// limit.
	NotFit Word = "not_fit"
)

// wholly is said of a roll that is fit, and of no other.
const wholly = "everything asked was looked at and is within the limits entered"

func (w Word) rank() int { return slices.Index([]Word{Fit, NotReleased, NotFit}, w) }

// Verdict is the word with its reasons and what would make it fit.
type Verdict struct {
	Word    Word
	Reasons []string
	Next    []next.Step
	// Missing names what was asked and is not there, MissingReasons says so in
	// sentences: those of Reasons that are no finding.
	Missing        []string
	MissingReasons []string
	// Concessions are those in force that cover all that is missing.
	Concessions []Conceded
	// CoolAt is when a roll that came out warm counts as cool by the practice;
	// zero where it is cool.
	CoolAt time.Time
	Firm   bool // something that no concession covers
}

// Conceded is a concession with the roll it is for.
type Conceded struct {
	Roll string
	roll.Concession
}

// MayGoIn says whether the roll may be mounted: it is fit, or an engineer's
// concession covers all that is missing.
func (v Verdict) MayGoIn() bool {
	return v.Word == Fit || v.Word == NotReleased && len(v.Concessions) > 0
}

// Concedable is what a concession would have to cover, nil where there is
// nothing to concede or no concession helps.
func (v Verdict) Concedable() []string {
	if v.Word != NotReleased || v.Firm {
		return nil
	}
	return v.Missing
}

// Subject is one roll with what its release is judged by.
type Subject struct {
	State    roll.State
	Partner  *roll.State // the other roll of its set, nil when it has none
	Practice practice.InForce
	Case     Case
	// Chocks are those on this roll.
	Chocks []chock.Standing
	// Past says which limits the roll is past as it runs or came out, in
	// sentences.
	Past []string
	Now  time.Time
}

// Judge gives the verdict on one roll by its own book, its chocks and the
// practice in force. The stand's window, speed and load are the business of the
// finish check.
func Judge(s Subject) Verdict {
	v := Verdict{Word: Fit}
	if v.stage(s) {
		return v
	}
	v.found(s)
	v.limits(s)
	v.pair(s)
	v.asked(s)
	v.chocks(s.Chocks)
	v.conceded(s.State)
	if v.Word == Fit && s.State.Stage != roll.StageMounted {
		v.say(wholly, "")
	}
	return v
}

// Both joins the verdicts on the two rolls of a set: the worse word rules, and a
// concession is needed for each roll of which something is missing.
func Both(top, bottom Verdict, topNumber, bottomNumber string) Verdict {
	joined := Verdict{Word: top.Word}
	if bottom.Word.rank() > top.Word.rank() {
		joined.Word = bottom.Word
	}
	all := true
	for _, one := range []struct {
		number string
		v      Verdict
	}{{topNumber, top}, {bottomNumber, bottom}} {
		for _, reason := range one.v.Reasons {
			if reason != wholly || joined.Word == Fit {
				joined.Reasons = append(joined.Reasons, one.number+": "+reason)
			}
		}
		for _, step := range one.v.Next {
			step.Do = one.number + ": " + step.Do
			joined.Next = append(joined.Next, step)
		}
		joined.Missing = append(joined.Missing, prefixed(one.number, one.v.Missing)...)
		joined.MissingReasons = append(joined.MissingReasons, prefixed(one.number, one.v.MissingReasons)...)
		joined.Concessions = append(joined.Concessions, one.v.Concessions...)
		if one.v.CoolAt.After(joined.CoolAt) {
			joined.CoolAt = one.v.CoolAt
		}
		joined.Firm = joined.Firm || one.v.Firm
		all = all && one.v.MayGoIn()
	}
	if !all {
		joined.Concessions = nil
	}
	return joined
}

func prefixed(number string, list []string) []string {
	out := make([]string, len(list))
	for i, text := range list {
		out[i] = number + ": " + text
	}
	return out
}

func (v *Verdict) worsen(w Word) {
	if w.rank() > v.Word.rank() {
		v.Word = w
	}
}

// say gives a reason, and the way on in words with the operation that does it.
func (v *Verdict) say(reason, do string, steps ...next.Step) {
	v.Reasons = append(v.Reasons, reason)
	if do != "" && len(steps) == 0 {
		steps = []next.Step{{}}
	}
	for _, step := range steps {
		step.Do = do
		if !slices.ContainsFunc(v.Next, func(s next.Step) bool { return s.String() == step.String() }) {
			v.Next = append(v.Next, step)
		}
	}
}

func (v *Verdict) no(reason, do string, steps ...next.Step) {
	v.worsen(NotFit)
	v.say(reason, do, steps...)
}

// missing notes what was asked and is not there.
func (v *Verdict) missing(what, reason, do string, steps ...next.Step) {
	v.worsen(NotReleased)
	v.Missing = append(v.Missing, what)
	v.MissingReasons = append(v.MissingReasons, reason)
	v.say(reason, do, steps...)
}

// conceded lets a concession stand that covers all that is missing now.
func (v *Verdict) conceded(s roll.State) {
	c := s.Concession
	if c == nil || v.Word != NotReleased || v.Firm {
		return
	}
	for _, m := range v.Missing {
		if !slices.Contains(c.Missing, m) {
			v.say("the concession of "+c.By+" on "+moment(c.At)+" does not cover: "+m, "")
			return
		}
	}
	v.Concessions = []Conceded{{s.Roll.Number, *c}}
	v.say("released by concession of "+c.By+" on "+moment(c.At)+": "+strings.TrimSuffix(c.Reason, "."), "")
}

func moment(t time.Time) string { return t.UTC().Format("2006-01-02 15:04Z") }
