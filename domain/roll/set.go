package roll

import (
	"fmt"
	"slices"
	"time"

	"barrelbook/domain/next"
	"barrelbook/domain/quantity"
)

func pair(s State, e Entry, b Paired) (State, error) {
	switch {
	case s.Set != "":
		return s, conflict(s.Marks.Paired, s, e, fmt.Sprintf("the roll is in set %s with %s", s.Set, s.Partner), "break that set first", next.BreakSet(s.Set))
	case s.HeldFor != "":
		return s, conflict(s.Marks.Held, s, e, "the roll is held: "+s.HeldFor, "release it first", next.ReleaseRoll(e.Roll))
	case s.Stage == StageNew:
		return s, conflict(s.Marks.Received, s, e, "the roll is new and has not been ground to profile", "record its first grind", next.RecordRegrind(e.Roll))
	case s.Stage == StageWorn:
		// What it measures now is not known until it is ground.
		return s, conflict(s.Marks.Withdrawn, s, e, fmt.Sprintf("the roll has not been ground since it came out on %s", moment(s.WithdrawnAt)), "record its grind first", next.RecordRegrind(e.Roll))
	}
	s.Set, s.Partner, s.Top, s.Marks.Paired = b.Set, b.Partner, b.Top, e.Number
	s.Stage = StagePaired
	return s, nil
}

func unpair(s State, e Entry, b Unpaired) (State, error) {
	if s.Stage == StageMounted {
		return s, conflict(s.Marks.Mounted, s, e, fmt.Sprintf("set %s is in %s since %s", s.Set, s.Stand, moment(s.MountedAt)), "take it out first", next.RecordChange(s.Stand))
	}
	if s.Set == "" || s.Set != b.Set {
		return s, conflict(s.Marks.Paired, s, e, "the roll is not in set "+b.Set, "see its book", next.ShowBook(e.Roll))
	}
	s.Set, s.Partner, s.Top, s.Marks.Paired = "", "", false, 0
	if s.Stage == StagePaired {
		s.Stage = StageGround
	}
	return s, nil
}

func mount(s State, e Entry, b Mounted) (State, error) {
	if err := mayMount(s, e, b); err != nil {
		return s, err
	}
	s.Stage, s.Stand, s.Position, s.MountedAt, s.Marks.Mounted = StageMounted, b.Stand, b.Position, e.At, e.Number
	return s, nil
}

// mayMount holds the rules of going out. What was written after the mounting
// does not unmake it: a test that became owed by a mishap recorded late is owed
// from then on, and the roll stays where it is.
func mayMount(s State, e Entry, b Mounted) error {
	limit, limitName := s.ScrapLimit()
	allowed := max(1, b.CampaignsBetweenGrinds)
	switch {
	case s.Stage == StageMounted:
		return conflict(s.Marks.Mounted, s, e, s.whereMounted(), "record its withdrawal there first")
	case s.HeldFor != "":
		return conflict(s.Marks.Held, s, e, "the roll is held: "+s.HeldFor, "take another set, or release it", next.ListReadySets(), next.ReleaseRoll(e.Roll))
	case s.Set == "":
		return conflict(0, s, e, "the roll is not in a set", "pair it first", next.BuildSet())
	case s.Set != b.Set:
		return conflict(s.Marks.Paired, s, e, fmt.Sprintf("the roll is in set %s, not in set %s", s.Set, b.Set), "name the set it is in")
	case s.Diameter < limit:
		return conflict(max(s.Marks.Received, s.Marks.Ground), s, e, fmt.Sprintf("its diameter %s is below the scrap limit %s (%s)", s.Diameter, limit, limitName), "scrap it", next.ScrapRoll(e.Roll))
	case s.CampaignsSinceGrind >= allowed:
		return conflict(s.Marks.Withdrawn, s, e, fmt.Sprintf("the roll has run %s since it was ground; the practice allows %d", campaigns(s.CampaignsSinceGrind), allowed),
			"grind it first; the advice says what to take off", next.AdviseRegrind(e.Roll))
	}
	for _, o := range s.Owed {
		if o.Due && o.Entry < e.Number {
			return conflict(o.Entry, s, e, o.sentence(), o.Kind.record(), next.RecordTest(e.Roll, string(o.Kind)))
		}
	}
	for _, f := range s.Failed {
		if f.Entry < e.Number {
			return conflict(f.Entry, s, e, fmt.Sprintf("the %s test failed on %s", f.Kind.Words(), moment(f.At)), "grind the cause out and test again")
		}
	}
	if ready := s.WithdrawnAt.Add(b.Cooling); !s.WithdrawnAt.IsZero() && e.At.Before(ready) {
		return conflict(s.Marks.Withdrawn, s, e, fmt.Sprintf("the roll came out on %s and is still warm within the %s of the practice", moment(s.WithdrawnAt), hours(b.Cooling)),
			"it may go in from "+moment(ready))
	}
	return nil
}

func campaigns(n int) string {
	if n == 1 {
		return "1 campaign"
	}
	return fmt.Sprintf("%d campaigns", n)
}

func hours(d time.Duration) string { return fmt.Sprintf("%g h", d.Hours()) }

func withdraw(s State, e Entry, b Withdrawn) (State, error) {
	if s.Stage != StageMounted {
		return s, conflict(s.Marks.Withdrawn, s, e, "the roll is not in a stand", "check the stand and the moment given")
	}
	if s.Stand != b.Stand || s.Position != b.Position {
		return s, conflict(s.Marks.Mounted, s, e, fmt.Sprintf("the roll is in %s (%s), not in %s (%s)", s.Stand, s.Position, b.Stand, b.Position), "check the stand and the moment given")
	}
	s.Stage, s.WithdrawnAt, s.Marks.Withdrawn, s.Marks.Mounted = StageWorn, e.At, e.Number, 0
	s.Stand, s.Position = "", ""
	s.Campaigns++
	s.CampaignsSinceGrind++
	s.Concession = nil
	s.campaignOver()
	return s, nil
}

// Mismatch is the difference of two diameters of a set, never negative.
func Mismatch(a, b State) quantity.Micrometre {
	if d := a.Diameter - b.Diameter; d >= 0 {
		return d
	}
	return b.Diameter - a.Diameter
}

// MayPair says why two rolls cannot make a set, nil when they can. tolerance
// is on the difference of their diameters.
func MayPair(top, bottom State, tolerance quantity.Micrometre) error {
	refuse := func(why, do string, steps ...next.Step) error {
		return &Conflict{Roll: top.Roll.Number, Why: why, Do: do, Next: steps}
	}
	switch {
	case top.Roll.Number == bottom.Roll.Number:
		return refuse("a set needs two rolls, and this is one roll twice", "name the other roll")
	case top.Roll.Role != bottom.Roll.Role:
		return refuse(fmt.Sprintf("%s is a %s roll and %s a %s roll", top.Roll.Number, top.Roll.Role, bottom.Roll.Number, bottom.Roll.Role), "pair rolls of one role")
	case top.Mill != bottom.Mill:
		return refuse(fmt.Sprintf("%s serves mill %s and %s mill %s", top.Roll.Number, top.Mill, bottom.Roll.Number, bottom.Mill), "pair rolls of one mill, or regrade one first", next.RegradeRoll(bottom.Roll.Number))
	case top.Roll.BarrelLength != bottom.Roll.BarrelLength:
		return refuse(fmt.Sprintf("the barrels are %s and %s long", top.Roll.BarrelLength, bottom.Roll.BarrelLength), "pair rolls of one barrel length")
	case !sameGrooves(top.Roll.Grooves, bottom.Roll.Grooves):
		return refuse(fmt.Sprintf("%s has %d grooves and %s has %d, or of other depths", top.Roll.Number, len(top.Roll.Grooves), bottom.Roll.Number, len(bottom.Roll.Grooves)),
			"pair rolls whose grooves face each other")
	}
	return WithinTolerance(top, bottom, tolerance)
}

// sameGrooves is true where the grooves of two rolls face each other: as many,
// number by number as deep.
func sameGrooves(a, b []Groove) bool {
	return slices.EqualFunc(a, b, func(x, y Groove) bool { return x.Number == y.Number && x.Depth == y.Depth })
}

// WithinTolerance says by how much a pair is out, nil when it is not. It is
// asked when a set is built and again when it is mounted, as a partner may have
// been reground in between.
func WithinTolerance(top, bottom State, tolerance quantity.Micrometre) error {
	mismatch := Mismatch(top, bottom)
	if mismatch <= tolerance {
		return nil
	}
	larger := top
	if bottom.Diameter > top.Diameter {
		larger = bottom
	}
	return &Conflict{Roll: top.Roll.Number,
		Why: fmt.Sprintf("%s (%s) and %s (%s) differ by %s; the tolerance is %s", top.Roll.Number, top.Diameter, bottom.Roll.Number, bottom.Diameter, mismatch, tolerance),
		Do:  fmt.Sprintf("grind %s by at least %s, or take another partner", larger.Roll.Number, mismatch-tolerance)}
}
