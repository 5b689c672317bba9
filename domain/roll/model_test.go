package roll_test

import (
	"slices"
	"testing"
	"time"

	"pgregory.net/rapid"

	"barrelbook/domain/mill"
	"barrelbook/domain/quantity"
	"barrelbook/domain/roll"
)

// lives writes books at random, most of it legal, much of it late or a
// correction, and offers them entries that are not: whatever is taken, the
// book read as a whole must say the same as the book written entry by entry.
type lives struct {
	*book
	now time.Time
}

// draw makes the next entry: one that fits where the roll stands, or any.
func (l *lives) draw(t *rapid.T) roll.Entry {
	e := roll.Entry{Roll: number, Number: int64(len(l.entries)) + 1, At: l.now, RecordedAt: l.now, By: "hand", Reason: "because"}
	s := l.state
	if len(l.entries) == 0 {
		e.Body = cameGround()
		return e
	}
	switch rapid.IntRange(0, 9).Draw(t, "how") {
	case 0: // late: at, just before or just after an entry, or anywhere
		e.At = rapid.SampledFrom(l.entries).Draw(t, "near").At.Add(rapid.SampledFrom([]time.Duration{-time.Hour, 0, time.Hour}).Draw(t, "by"))
		e.Body = l.any(t)
	case 1:
		e.Body = l.correction(t)
	case 2:
		e.Body = l.any(t)
	default:
		e.Body = l.next(t, s)
	}
	return e
}

// next is what usually follows.
func (l *lives) next(t *rapid.T, s roll.State) roll.Body {
	switch {
	case s.HeldFor != "":
		return roll.Released{}
	case s.Stage == roll.StageMounted:
		return roll.Withdrawn{Stand: s.Stand, Position: s.Position, Set: s.Set, Why: roll.Planned}
	case s.Stage == roll.StageWorn || s.Stage == roll.StageNew:
		return l.regrind(t, s)
	case s.Stage == roll.StageGround:
		return rapid.SampledFrom([]roll.Body{paired("A"), paired("A"), roll.Regraded{Stands: []string{"F1"}}, roll.Held{}, roll.Scrapped{Why: roll.ByEconomy}}).Draw(t, "alone")
	case rapid.IntRange(0, 9).Draw(t, "apart") == 9:
		return unpaired("A")
	case len(s.Owed) > 0 && s.Owed[0].Due:
		return looked(s.Owed[0].Kind, rapid.SampledFrom([]roll.Outcome{roll.Passed, roll.Passed, roll.Unknown, roll.Failed}).Draw(t, "outcome"))
	case len(s.Failed) > 0:
		return with(l.regrind(t, s), passed(s.Failed[0].Kind))
	}
	return l.mounting(t)
}

func (l *lives) mounting(t *rapid.T) roll.Mounted {
	m := mounted()
	m.Stand = rapid.SampledFrom([]string{"F1", "F2"}).Draw(t, "stand")
	m.Cooling = time.Duration(rapid.IntRange(0, 30).Draw(t, "cooling")) * time.Hour
	m.CampaignsBetweenGrinds = rapid.IntRange(0, 3).Draw(t, "campaigns")
	return m
}

func (l *lives) regrind(t *rapid.T, s roll.State) roll.Reground {
	found := s.Diameter - quantity.Micrometre(rapid.IntRange(-30, 900).Draw(t, "wear"))
	b := reground(found, found-quantity.Micrometre(rapid.IntRange(-5, 2500).Draw(t, "stock")))
	b.For = rapid.SampledFrom([]roll.Purpose{roll.ForWear, roll.ForCrack, roll.ForIncident, roll.ForProfile}).Draw(t, "purpose")
	if rapid.Bool().Draw(t, "confirmed") {
		b.Confirm = "measured twice"
	}
	return b
}

// any is an entry of any kind, legal or not.
func (l *lives) any(t *rapid.T) roll.Body {
	tests := rapid.SampledFrom([]roll.TestKind{roll.Visual, roll.EddyCurrent, roll.Ultrasonic})
	return rapid.OneOf(
		rapid.Custom(func(t *rapid.T) roll.Body {
			return incident(rapid.SampledFrom([]roll.What{roll.Cobble, roll.Overload, roll.Bruise, roll.Spall}).Draw(t, "what"))
		}),
		rapid.Custom(func(t *rapid.T) roll.Body {
			return looked(tests.Draw(t, "test"), rapid.SampledFrom([]roll.Outcome{roll.Passed, roll.Failed, roll.Unknown}).Draw(t, "outcome"))
		}),
		rapid.Custom(func(t *rapid.T) roll.Body { return l.regrind(t, l.state) }),
		rapid.Custom(func(t *rapid.T) roll.Body { return l.mounting(t) }),
		rapid.SampledFrom([]roll.Body{paired("A"), unpaired("A"), paired("B"), withdrawn(), roll.Held{}, roll.Released{}, roll.Regraded{Stands: []string{"F1"}}, cameGround()}),
		rapid.Custom(func(t *rapid.T) roll.Body {
			if rapid.IntRange(0, 2).Draw(t, "end") == 2 {
				return roll.Scrapped{Why: roll.ByEconomy}
			}
			return looked(roll.Visual, roll.Passed)
		}),
	).Draw(t, "body")
}

func (l *lives) correction(t *rapid.T) roll.Body {
	wrong := rapid.SampledFrom(l.entries).Draw(t, "wrong")
	c := roll.Corrected{Entry: wrong.Number}
	body := wrong.Body
	if earlier, ok := body.(roll.Corrected); ok {
		body = earlier.With
	}
	if g, ok := body.(roll.Reground); ok && rapid.Bool().Draw(t, "replace") {
		g.Ground -= quantity.Micrometre(rapid.IntRange(-200, 200).Draw(t, "off"))
		c.With = g
	}
	if rapid.IntRange(0, 3).Draw(t, "move") == 0 {
		c.At = wrong.At.Add(time.Duration(rapid.IntRange(-3, 3).Draw(t, "hours")) * time.Hour)
	}
	return c
}

func TestBooksReplayToWhatWasWritten(t *testing.T) {
	kinds, late, taken := map[roll.Kind]int{}, 0, 0
	for range 3 {
		rapid.Check(t, func(t *rapid.T) { liveOneLife(t, kinds, &late, &taken) })
	}
	if t.Failed() {
		return
	}
	t.Logf("%d entries taken, %d of them late: %v", taken, late, kinds)
	for _, k := range []roll.Kind{roll.KindReceived, roll.KindInspected, roll.KindReground, roll.KindPaired, roll.KindUnpaired, roll.KindMounted, roll.KindWithdrawn,
		roll.KindIncident, roll.KindHeld, roll.KindReleased, roll.KindRegraded, roll.KindScrapped, roll.KindCorrected} {
		if kinds[k] == 0 {
			t.Errorf("of %d entries taken none was %q: the property says nothing of it", taken, k)
		}
	}
	if late < taken/100 {
		t.Errorf("of %d entries taken only %d were late", taken, late)
	}
}

// liveOneLife writes one book and counts what was taken.
func liveOneLife(t *rapid.T, kinds map[roll.Kind]int, late, taken *int) {
	l := &lives{book: &book{}, now: day(0)}
	for range rapid.IntRange(40, 120).Draw(t, "entries") {
		l.now = l.now.Add(time.Duration(rapid.IntRange(0, 20).Draw(t, "pause")) * time.Hour)
		e := l.draw(t)
		before := l.state
		before.Owed, before.Failed = slices.Clone(before.Owed), slices.Clone(before.Failed)
		after, err := roll.Append(l.state, e, func() ([]roll.Entry, error) { return slices.Clone(l.entries), nil })
		same(t, l.state, before) // a state that was handed out never changes
		whole, replayed := roll.Replay(append(slices.Clone(l.entries), e))
		if (err == nil) != (replayed == nil) {
			t.Fatalf("entry by entry: %v; as a whole: %v", err, replayed)
		}
		if err != nil {
			continue
		}
		if e.At.Before(before.LastAt) {
			*late++
		}
		*taken++
		kinds[e.Body.Kind()]++
		l.entries, l.state = append(l.entries, e), after
		same(t, whole, after)
		sane(t, l.entries, after)
	}
}

// sane holds what must be true of every book.
func sane(t *rapid.T, entries []roll.Entry, s roll.State) {
	if (s.Stage == roll.StageMounted) != (s.Stand != "") || (s.Stand == "") != (s.Position == "") {
		t.Fatalf("stage %q, stand %q, position %q", s.Stage, s.Stand, s.Position)
	}
	if s.Set == "" && (s.Partner != "" || s.Stage == roll.StagePaired || s.Stage == roll.StageMounted) {
		t.Fatalf("in no set, partner %q, stage %q", s.Partner, s.Stage)
	}
	effective, err := roll.Effective(entries)
	if err != nil {
		t.Fatal(err)
	}
	diameter, in, campaigns := quantity.Micrometre(0), mill.Position(""), 0
	for i, e := range effective {
		if i > 0 && e.At.Before(effective[i-1].At) {
			t.Fatal("the book is not in the order of happening")
		}
		switch b := e.Body.(type) {
		case roll.Received:
			diameter = b.Diameter
		case roll.Reground:
			if b.Ground > diameter {
				t.Fatalf("the diameter rose from %s to %s", diameter, b.Ground)
			}
			diameter = b.Ground
		case roll.Mounted:
			if in != "" {
				t.Fatal("the roll was in two places")
			}
			in = b.Position
		case roll.Withdrawn:
			in = ""
			campaigns++
		}
	}
	if s.Diameter != diameter || s.StockRemoved != 750_000-diameter || s.Campaigns != campaigns || s.IncidentStock > s.StockRemoved {
		t.Fatalf("diameter %s stock removed %s (%s by incidents) campaigns %d; the entries give %s, %d", s.Diameter, s.StockRemoved, s.IncidentStock, s.Campaigns, diameter, campaigns)
	}
	if (in != "") != (s.Stage == roll.StageMounted) {
		t.Fatalf("the entries leave it in %q, the state says %q", in, s.Stage)
	}
	if s.Entries != int64(len(entries)) {
		t.Fatalf("%d entries, the state says %d", len(entries), s.Entries)
	}
}

// TestPastStatesAreThoseOfThen: a book without late entries tells each past
// moment as it was told then.
func TestPastStatesAreThoseOfThen(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		l := &lives{book: &book{}, now: day(0)}
		var states []roll.State
		var moments []time.Time
		for range rapid.IntRange(1, 40).Draw(t, "entries") {
			l.now = l.now.Add(time.Duration(rapid.IntRange(1, 20).Draw(t, "pause")) * time.Hour)
			e := roll.Entry{Roll: number, Number: int64(len(l.entries)) + 1, At: l.now, Reason: "because", Body: cameGround()}
			if len(l.entries) > 0 {
				e.Body = l.next(t, l.state)
			}
			after, err := roll.Append(l.state, e, nil)
			if err != nil {
				continue
			}
			l.entries, l.state = append(l.entries, e), after
			states, moments = append(states, after), append(moments, e.At)
		}
		i := rapid.IntRange(0, len(states)-1).Draw(t, "which")
		got, err := roll.ReplayUntil(l.entries, moments[i].Add(time.Minute))
		if err != nil {
			t.Fatal(err)
		}
		states[i].Entries = int64(len(l.entries)) // the version is that of the book now
		same(t, got, states[i])
	})
}
