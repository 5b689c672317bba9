package roll

import (
	"fmt"
	"strings"
)

// Words is the test as a person says it.
func (k TestKind) Words() string { return strings.ReplaceAll(string(k), "_", " ") }

// campaignsWatched is how many further campaigns a roll is tested after once a
// cobble or a pinch has been over it: common practice, no source.
const campaignsWatched = 3

// owes lists the tests a mishap makes due, and for which of them the watch goes
// on over the next campaigns.
func owes(what What) (due []TestKind, watched bool) {
	switch what {
	case Cobble, Pinch:
		return []TestKind{EddyCurrent}, true
	case Spall, FireCrack:
		return []TestKind{EddyCurrent, Ultrasonic}, true
	case NeckMishap, Overload, BearingMishap:
		return []TestKind{Visual, Ultrasonic}, false
	case StripWeld, CoolingLoss:
		return []TestKind{Visual, EddyCurrent}, false
	default:
		return []TestKind{Visual}, false
	}
}

// suffer notes what a mishap leaves owed.
func (s *State) suffer(e Entry, b Incident) {
	due, watched := owes(b.What)
	for i, kind := range due {
		to := 0
		if watched && i == 0 {
			to = campaignsWatched
		}
		s.owe(Owed{Kind: kind, Due: true, CampaignsToCome: to, Entry: e.Number,
			Why: fmt.Sprintf("%s of %s", strings.ReplaceAll(string(b.What), "_", " "), moment(e.At))})
	}
}

// owe adds a debt, or renews the one of the same kind.
func (s *State) owe(o Owed) {
	for i := range s.Owed {
		if s.Owed[i].Kind == o.Kind {
			o.CampaignsToCome = max(o.CampaignsToCome, s.Owed[i].CampaignsToCome)
			s.Owed[i] = o
			return
		}
	}
	s.Owed = append(s.Owed, o)
}

// campaignOver makes watched tests due once more.
func (s *State) campaignOver() {
	for i := range s.Owed {
		if s.Owed[i].CampaignsToCome > 0 && !s.Owed[i].Due {
			s.Owed[i].Due = true
			s.Owed[i].CampaignsToCome--
		}
	}
}

// tests takes test results in: a pass pays what is owed and clears a failure
// of that kind, a failure stands until passed, an unknown result leaves the
// test owed.
func (s *State) tests(e Entry, results []Test) {
	for _, t := range results {
		if t.Hardness > 0 {
			s.Hardness = t.Hardness
		}
		switch t.Outcome {
		case Passed:
			s.pay(t.Kind)
			s.clear(t.Kind)
		case Failed:
			s.clear(t.Kind)
			s.Failed = append(s.Failed, Failure{Kind: t.Kind, Entry: e.Number, At: e.At})
		default:
			s.owe(Owed{Kind: t.Kind, Due: true, Entry: e.Number, Unknown: true,
				Why: fmt.Sprintf("result of %s is not known", moment(e.At))})
		}
	}
}

// pay settles what is due now; a watch goes on while campaigns are to come.
func (s *State) pay(kind TestKind) {
	kept := s.Owed[:0]
	for _, o := range s.Owed {
		if o.Kind == kind {
			o.Due, o.Unknown = false, false
			if o.CampaignsToCome == 0 {
				continue
			}
		}
		kept = append(kept, o)
	}
	s.Owed = kept
}

func (s *State) clear(kind TestKind) {
	kept := s.Failed[:0]
	for _, f := range s.Failed {
		if f.Kind != kind {
			kept = append(kept, f)
		}
	}
	s.Failed = kept
}

// firstOwed is the first test that is due now.
func (s State) firstOwed() (Owed, bool) {
	for _, o := range s.Owed {
		if o.Due {
			return o, true
		}
	}
	return Owed{}, false
}

// sentence says what is owed and why.
func (o Owed) sentence() string {
	switch {
	case o.Unknown:
		return fmt.Sprintf("the %s test has no known result (%s)", o.Kind.Words(), o.Why)
	case o.Due:
		return fmt.Sprintf("the %s test is owed since the %s", o.Kind.Words(), o.Why)
	default:
		return fmt.Sprintf("the %s test will be owed after each of the next %d campaigns since the %s", o.Kind.Words(), o.CampaignsToCome, o.Why)
	}
}

// Sentence says what is owed and why, for a person.
func (o Owed) Sentence() string { return o.sentence() }
