package roll

import (
	"fmt"
	"slices"
	"strings"

	"barrelbook/domain/refusal"
)

// Words is the test as a person says it.
func (k TestKind) Words() string { return strings.ReplaceAll(string(k), "_", " ") }

// FindsCracks says whether the test looks for cracks: a roll that owes it or
// failed it may burst.
func (k TestKind) FindsCracks() bool {
	return k == EddyCurrent || k == Ultrasonic || k == MagneticParticle || k == DyePenetrant
}

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

// AskedTest is a test that a mishap makes due, then and after each of some
// campaigns to come.
type AskedTest struct {
	Kind      TestKind
	Campaigns int
}

// AskedAfter is what a mishap makes due by common practice, no source.
func AskedAfter(what What) []AskedTest {
	due, watched := owes(what)
	asked := make([]AskedTest, len(due))
	for i, kind := range due {
		asked[i].Kind = kind
		if watched && i == 0 {
			asked[i].Campaigns = campaignsWatched
		}
	}
	return asked
}

// addOwedTests notes what a mishap leaves owed. No concession outlasts it.
func (s *State) addOwedTests(e Entry, b Incident) {
	s.Concession = nil
	asks := b.Asks
	if asks == nil {
		asks = AskedAfter(b.What)
	}
	for _, a := range asks {
		s.owe(Owed{Kind: a.Kind, Due: true, CampaignsToCome: a.Campaigns, Entry: e.Number,
			Why: fmt.Sprintf("%s of %s", strings.ReplaceAll(string(b.What), "_", " "), moment(e.At))})
	}
}

// owe adds a debt, unless one that says as much was known before.
func (s *State) owe(o Owed) {
	for _, old := range s.Owed {
		if old.Kind == o.Kind && old.Due && !old.Unknown && old.CampaignsToCome >= o.CampaignsToCome && old.Entry < o.Entry {
			return
		}
	}
	s.Owed = append(s.Owed, o)
}

// oweUnknown notes a test that was done without a known result: what was owed
// of its kind stays owed, and where nothing was, the test itself now is.
func (s *State) oweUnknown(e Entry, kind TestKind) {
	owed := false
	for i := range s.Owed {
		if s.Owed[i].Kind == kind && s.Owed[i].Due {
			s.Owed[i].Unknown, owed = true, true
		}
	}
	if !owed {
		s.Owed = append(s.Owed, Owed{Kind: kind, Due: true, Entry: e.Number, Unknown: true, Why: "test of " + moment(e.At)})
	}
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

// inspect takes in a look at the roll. In a stand a roll can only be looked
// at; every other test needs it in the shop, and one that is dated while it was
// in a stand has the wrong moment or the wrong roll.
func inspect(s State, e Entry, b Inspected) (State, error) {
	for _, t := range b.Tests {
		if s.Stage == StageMounted && t.Kind != Visual {
			return s, conflict(s.Marks.Mounted, s, e, fmt.Sprintf("%s, where no %s test is made", s.whereMounted(), t.Kind.Words()),
				"give the moment the test was made, or check the roll number")
		}
	}
	s.tests(e, b.Tests)
	return s, nil
}

// tests takes test results in: a pass pays what is owed and clears a failure
// of that kind; a failure pays too, as the result is known, and stands until
// the test is passed; an unknown result leaves the test owed.
func (s *State) tests(e Entry, results []Test) {
	for _, t := range results {
		s.hardness(t)
		s.look(e, t)
		switch t.Outcome {
		case Passed:
			s.pay(t.Kind)
			s.Failed = slices.DeleteFunc(s.Failed, func(f Failure) bool { return f.Kind == t.Kind })
		case Failed:
			s.pay(t.Kind)
			s.fail(Failure{Kind: t.Kind, Entry: e.Number, At: e.At})
		default:
			s.oweUnknown(e, t.Kind)
		}
	}
}

// hardness takes in the figure and the readings along the barrel. The first
// readings of a book are those of the roll when it was new.
func (s *State) hardness(t Test) {
	if t.Kind == HardnessTest && len(t.Readings) > 0 {
		s.HardnessAlong = t.Readings
		if s.NewHardness == nil && s.Campaigns == 0 {
			s.NewHardness = t.Readings
		}
		sum := 0.0
		for _, r := range t.Readings {
			sum += r.Value
		}
		s.Hardness = sum / float64(len(t.Readings))
	}
	if t.Hardness > 0 {
		s.Hardness = t.Hardness
		if len(t.Readings) == 0 {
			s.HardnessAlong = nil
		}
	}
}

// look keeps the last test of the kind and the deepest defect it knows of. A
// hardness test without a figure says nothing.
func (s *State) look(e Entry, t Test) {
	outcome := t.Outcome
	if t.Kind == HardnessTest && outcome == Passed && t.Hardness <= 0 && len(t.Readings) == 0 {
		outcome = Unknown
	}
	seen := Tested{Kind: t.Kind, Outcome: outcome, Entry: e.Number, At: e.At, Regrinds: s.Regrinds, Campaigns: s.Campaigns}
	if i := slices.IndexFunc(s.Tested, func(old Tested) bool { return old.Kind == t.Kind }); i >= 0 {
		s.Tested[i] = seen
	} else {
		s.Tested = append(s.Tested, seen)
	}
	if !t.Kind.FindsCracks() {
		return
	}
	s.defects(e, t)
	if cracks := t.deepest(func(i Indication) bool { return i == IndicationCrack }); t.Outcome == Passed || t.Outcome == Failed && cracks > 0 || cracks > s.FireCracks.LeftUM {
		s.FireCracks.LeftUM, s.FireCracks.MeasuredAt = cracks, e.At
	}
}

// defects keeps the deepest defect that tests of the kind know of. A test whose
// result is not known may have seen a part of the barrel: it adds a deeper one
// and takes none away.
func (s *State) defects(e Entry, t Test) {
	depth := t.DeepestUM()
	deeper := !slices.ContainsFunc(s.Defects, func(d Defect) bool { return d.Kind == t.Kind && d.DepthUM >= depth })
	if t.Outcome != Passed && (depth == 0 || t.Outcome != Failed && !deeper) {
		return
	}
	s.Defects = slices.DeleteFunc(s.Defects, func(d Defect) bool { return d.Kind == t.Kind })
	if depth > 0 {
		s.Defects = append(s.Defects, Defect{Kind: t.Kind, DepthUM: depth, Entry: e.Number, At: e.At})
	}
}

// DeepestUM is the deepest defect of a test that looks for cracks, by its figure
// or its readings; 0 where none was found or the depth was not told.
func (t Test) DeepestUM() float64 { return t.deepest(Indication.Defect) }

func (t Test) deepest(of func(Indication) bool) float64 {
	if !t.Kind.FindsCracks() {
		return 0
	}
	deepest := t.CrackDepthUM
	for _, r := range t.Readings {
		if of(t.IndicationOf(r)) {
			deepest = max(deepest, r.DepthUM)
		}
	}
	return deepest
}

// CheckTests refuses results that contradict themselves: the threshold decides,
// not the word. It is asked of new entries only, as older books hold what was
// taken before.
func CheckTests(tests []Test) error {
	var c refusal.Check
	for i, t := range tests {
		checkIndications(&c, i, t)
		if t.Outcome != Passed {
			continue
		}
		if d := t.DeepestUM(); d > t.AllowedUM {
			c.Add(fmt.Sprintf("tests/%d/outcome", i), string(Passed), fmt.Sprintf("contradicts a defect %g µm deep: the practice allows %g µm on radius (max_crack_um)", d, t.AllowedUM),
				"record the "+t.Kind.Words()+" test as failed; grind the crack right out and test again")
			continue
		}
		for j, r := range t.Readings {
			if r.Above() {
				c.Add(fmt.Sprintf("tests/%d/readings/%d/value", i, j), refusal.Number(r.Value), "is above its threshold "+refusal.Number(r.Threshold)+" in a test that is said to be passed",
					"record the test as failed")
			}
		}
	}
	return c.Err()
}

// fail notes a failure; of two of one kind the one known longer stays.
func (s *State) fail(f Failure) {
	for _, old := range s.Failed {
		if old.Kind == f.Kind && old.Entry < f.Entry {
			return
		}
	}
	s.Failed = append(s.Failed, f)
}

// pay settles what is due now of a kind. Of the watches that go on over coming
// campaigns the longest covers the others.
func (s *State) pay(kind TestKind) {
	longest := Owed{}
	for _, o := range s.Owed {
		if o.Kind == kind && o.CampaignsToCome > longest.CampaignsToCome {
			longest = o
		}
	}
	s.Owed = slices.DeleteFunc(s.Owed, func(o Owed) bool { return o.Kind == kind })
	if longest.CampaignsToCome > 0 {
		longest.Due, longest.Unknown = false, false
		s.Owed = append(s.Owed, longest)
	}
}

// record says what is to be done about a test that is owed.
func (k TestKind) record() string { return "make the " + k.Words() + " test and record its result" }

// sentence says what is owed and why.
func (o Owed) sentence() string {
	switch {
	case o.Unknown:
		return fmt.Sprintf("the %s test has no known result (%s)", o.Kind.Words(), o.Why)
	case o.Due:
		return fmt.Sprintf("the %s test is owed since the %s", o.Kind.Words(), o.Why)
	default:
		return fmt.Sprintf("the %s test will be owed after %s more since the %s", o.Kind.Words(), campaigns(o.CampaignsToCome), o.Why)
	}
}

// Sentence says what is owed and why, for a person.
func (o Owed) Sentence() string { return o.sentence() }
