package roll

import (
	"fmt"
	"math"
	"time"

	"barrelbook/domain/next"
	"barrelbook/domain/practice"
)

// Verdict is whether a roll may go out within the limits entered. Unknown is
// not a yes.
type Verdict string

// The verdicts.
const (
	Fit            Verdict = "fit"
	NotFit         Verdict = "not_fit"
	FitnessUnknown Verdict = "unknown"
)

// Fitness is the verdict with its reasons and what would make it a yes.
type Fitness struct {
	Verdict Verdict
	Reasons []string
	Next    []next.Step
	// CoolAt is when a roll that came out warm counts as cool by the practice;
	// zero where it is cool.
	CoolAt time.Time
}

func (f *Fitness) no(reason, do string, steps ...next.Step) {
	f.Verdict = NotFit
	f.say(reason, do, steps...)
}

func (f *Fitness) unknown(reason, do string, steps ...next.Step) {
	if f.Verdict == Fit {
		f.Verdict = FitnessUnknown
	}
	f.say(reason, do, steps...)
}

func (f *Fitness) say(reason, do string, steps ...next.Step) {
	f.Reasons = append(f.Reasons, reason)
	if do != "" && len(steps) == 0 {
		steps = []next.Step{{}}
	}
	for _, step := range steps {
		step.Do = do
		f.Next = append(f.Next, step)
	}
}

// Assess says whether a roll may go out, by its own book and the practice in
// force. partner is the state of the other roll of its set, nil when it has
// none. It looks at one roll; the stand's window, speed and load are the
// business of the finish check.
func Assess(s State, partner *State, p practice.InForce, now time.Time) Fitness {
	f := Fitness{Verdict: Fit}
	number := s.Roll.Number
	switch s.Stage {
	case StageScrapped:
		f.no(fmt.Sprintf("it was scrapped on %s: %s", moment(s.ScrappedAt), s.ScrapWhy), "")
		return f
	case StageMounted:
		f.say("it is in "+s.Stand, "")
	case StageNew:
		f.no("it is new and has not been ground to profile", "grind it", next.RecordRegrind(number))
	case StageWorn:
		if allowed := int(p.Number(practice.CampaignsBetweenGrind)); s.CampaignsSinceGrind >= allowed {
			f.no(fmt.Sprintf("it has not been ground since it came out on %s", moment(s.WithdrawnAt)), "grind it; the advice says what to take off", next.AdviseRegrind(number))
		}
	}
	if s.HeldFor != "" {
		f.no("it is held: "+s.HeldFor, "release it when the cause is settled", next.ReleaseRoll(number))
	}
	limit, name := s.ScrapLimit()
	if s.Diameter < limit {
		f.no(fmt.Sprintf("its diameter %s is below the scrap limit %s (%s)", s.Diameter, limit, name), "scrap it", next.ScrapRoll(number))
	}
	assessTests(&f, s)
	assessGrind(&f, s, p)
	assessPair(&f, s, partner, p)
	if ready := s.WithdrawnAt.Add(p.Hours(practice.CoolingH)); !s.WithdrawnAt.IsZero() && s.Stage != StageMounted && now.Before(ready) {
		f.CoolAt = ready
		f.no(fmt.Sprintf("it came out on %s and is still warm by the practice", moment(s.WithdrawnAt)), "it may go in from "+moment(ready))
	}
	if f.Verdict == Fit && s.Stage != StageMounted {
		f.say("every check is within the limits entered", "")
	}
	return f
}

func assessTests(f *Fitness, s State) {
	for _, failed := range s.Failed {
		f.no(fmt.Sprintf("the %s test failed on %s", failed.Kind.Words(), moment(failed.At)), "grind the cause right out and test again")
	}
	for _, o := range s.Owed {
		if !o.Due {
			continue
		}
		do, step := o.Kind.record(), next.RecordTest(s.Roll.Number, string(o.Kind))
		if o.Unknown {
			f.unknown(o.sentence(), do, step)
		} else {
			f.no(o.sentence(), do, step)
		}
	}
}

// assessGrind holds what the last grind left against the practice. A figure
// that was not measured is no reason against the roll.
func assessGrind(f *Fitness, s State, p practice.InForce) {
	over := func(what string, v *float64, k practice.Key) {
		if limit := p.Value(k); v != nil && limit.Set && math.Abs(*v) > limit.Number {
			f.no(fmt.Sprintf("%s %.4g µm is over its limit %g µm (%s)", what, math.Abs(*v), limit.Number, limit.Source), "grind it again")
		}
	}
	over("taper", s.TaperUM, practice.TaperToleranceUM)
	over("runout", s.RunoutUM, practice.RunoutToleranceUM)
	if s.LastRegrind != nil && s.LastRegrind.CrownUM != nil {
		off := s.CrownUM - p.Number(practice.CrownUM)
		over("crown error", &off, practice.CrownToleranceUM)
	}
	if low := p.Value(practice.RoughnessMinUM); low.Set && s.RoughnessUM > 0 && s.RoughnessUM < low.Number {
		f.no(fmt.Sprintf("roughness Ra %g µm is under its limit %g µm (%s)", s.RoughnessUM, low.Number, low.Source), "dress it again")
	}
	if high := p.Value(practice.RoughnessMaxUM); high.Set && s.RoughnessUM > high.Number {
		f.no(fmt.Sprintf("roughness Ra %g µm is over its limit %g µm (%s)", s.RoughnessUM, high.Number, high.Source), "dress it again")
	}
	if low := p.Value(practice.HardnessMinShoreC); low.Set && s.Hardness > 0 && s.Hardness < low.Number {
		f.no(fmt.Sprintf("hardness %g Shore C is under its limit %g (%s)", s.Hardness, low.Number, low.Source), "")
	}
}

func assessPair(f *Fitness, s State, partner *State, p practice.InForce) {
	if s.Set == "" || partner == nil {
		if s.Stage == StageGround {
			f.say("it has no partner yet", "build a set with it", next.BuildSet())
		}
		return
	}
	tolerance := p.Micrometres(practice.PairToleranceUM)
	if partner.CampaignsSinceGrind >= int(p.Number(practice.CampaignsBetweenGrind)) && s.CampaignsSinceGrind == 0 && s.Stage != StageMounted {
		f.no(fmt.Sprintf("its partner %s has not been ground since it came out on %s", partner.Roll.Number, moment(partner.WithdrawnAt)),
			fmt.Sprintf("grind %s to within %s of %s", partner.Roll.Number, tolerance, s.Diameter))
		return
	}
	if m := Mismatch(s, *partner); m > tolerance {
		f.no(fmt.Sprintf("it differs from its partner %s by %s; the tolerance is %s", partner.Roll.Number, m, tolerance),
			"grind the larger one, or break set "+s.Set+" and pair anew")
	}
}
