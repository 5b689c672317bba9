package roll

import (
	"fmt"
	"strings"

	"barrelbook/domain/next"
)

// follow applies one entry to the state before it, or says why it cannot
// follow. It is the one place that decides what may come after what. Entries
// reach it in the order in which they happened.
func follow(s State, e Entry) (State, error) {
	if err := mayFollow(s, e); err != nil {
		return State{}, err
	}
	var err error
	switch b := e.Body.(type) {
	case Received:
		s, err = receive(s, e, b)
	case Inspected:
		s, err = inspect(s, e, b)
	case Reground:
		s, err = regrind(s, e, b)
	case Paired:
		s, err = pair(s, e, b)
	case Unpaired:
		s, err = unpair(s, e, b)
	case Mounted:
		s, err = mount(s, e, b)
	case Withdrawn:
		s, err = withdraw(s, e, b)
	case PastStay:
		s, err = carryOver(s, e, b)
	case Incident:
		s, err = mishap(s, e, b)
	case Conceded:
		s, err = concede(s, e, b)
	case Held:
		s, err = hold(s, e)
	case Released:
		s, err = release(s, e)
	case Regraded:
		s, err = regrade(s, e, b)
	case Scrapped:
		s, err = scrap(s, e, b)
	default:
		err = fmt.Errorf("roll %s: entry %d has a body of unknown kind %T", e.Roll, e.Number, e.Body)
	}
	if err != nil {
		return State{}, err
	}
	s.LastAt = e.At
	return s, nil
}

// mayFollow holds the rules that are the same for every kind.
func mayFollow(s State, e Entry) error {
	if err := checkFigures(e); err != nil {
		return err
	}
	_, receipt := e.Body.(Received)
	_, breaking := e.Body.(Unpaired)
	switch {
	case receipt && s.Stage != "":
		return conflict(s.Marks.Received, s, e, "the book is open already", "a roll number is never used again; receive the new roll under another number")
	case !receipt && s.Stage == "":
		return conflict(0, s, e, "this is dated before the roll's receipt", "check the moment given")
	case s.Stage == StageScrapped && !(breaking && s.Set != ""):
		// A roll that a grind scrapped may still be in its set, and its partner
		// must be set free.
		return conflict(s.Marks.Scrapped, s, e, "the roll was scrapped on "+moment(s.ScrappedAt), "nothing follows in its book; check the roll number")
	}
	return nil
}

// reasoned refuses an entry that nobody could understand later.
func reasoned(s State, e Entry) error {
	if strings.TrimSpace(e.Reason) == "" {
		return cannotBe("reason", s, e, fmt.Sprintf("the entry %q needs a reason", e.Body.Kind()), "say why in a few words")
	}
	return nil
}

func receive(s State, e Entry, b Received) (State, error) {
	if b.Roll.Number != e.Roll {
		return s, cannotBe("number", s, e, fmt.Sprintf("the receipt is of roll %q and the book of roll %q", b.Roll.Number, e.Roll), "")
	}
	s = State{
		Roll: b.Roll, Mill: b.Mill, Stands: b.Stands,
		Stage: StageNew, Diameter: b.Diameter, CrownUM: b.CrownUM, Hardness: b.Hardness,
		ReceivedAt: e.At, Marks: Marks{Received: e.Number},
	}
	if b.Ground {
		s.Stage, s.GroundAt, s.Marks.Ground = StageGround, e.At, e.Number
	}
	s.measured(b.Measures)
	s.tests(e, b.Tests)
	return s, nil
}

// concede lets the roll go out with what is missing, on somebody's word.
func concede(s State, e Entry, b Conceded) (State, error) {
	if err := reasoned(s, e); err != nil {
		return s, err
	}
	if len(b.Missing) == 0 {
		return s, conflict(0, s, e, "nothing asked of the roll is missing", "see what it needs", next.ShowRoll(e.Roll))
	}
	s.Concession = &Concession{Entry: e.Number, At: e.At, By: e.By, Reason: e.Reason, Missing: b.Missing}
	return s, nil
}

// mishap takes in what happened to the roll. One at a stand was borne by the
// rolls that were in it: a change that is dated before it cannot have taken
// them out.
func mishap(s State, e Entry, b Incident) (State, error) {
	if b.Stand != "" && (s.Stage != StageMounted || s.Stand != b.Stand) {
		return s, conflict(max(s.Marks.Withdrawn, s.Marks.Mounted), s, e, fmt.Sprintf("the roll was not in %s when the %s happened there", b.Stand, strings.ReplaceAll(string(b.What), "_", " ")),
			"check the stand and the moment given")
	}
	s.addOwedTests(e, b)
	return s, nil
}

// hold keeps the roll from going out; a roll in a stand can be held too, and
// is kept when it has come out.
func hold(s State, e Entry) (State, error) {
	if s.HeldFor != "" {
		return s, conflict(s.Marks.Held, s, e, "the roll is held already: "+s.HeldFor, "release it first, or leave it held")
	}
	if err := reasoned(s, e); err != nil {
		return s, err
	}
	s.HeldFor, s.Marks.Held = e.Reason, e.Number
	return s, nil
}

// release ends a hold. A test whose result is not known keeps the roll held: a
// failed one does not, as the roll must be released to be ground.
func release(s State, e Entry) (State, error) {
	if s.HeldFor == "" {
		return s, conflict(0, s, e, "the roll is not held", "see its book", next.ShowBook(e.Roll))
	}
	if err := reasoned(s, e); err != nil {
		return s, err
	}
	for _, o := range s.Owed {
		if o.Unknown && o.Entry < e.Number {
			return s, conflict(o.Entry, s, e, o.sentence()+", and a result that is not known is not a pass",
				"record the result; if it cannot be told, record it as failed, and the roll can be ground and tested again", next.RecordTest(e.Roll, string(o.Kind)))
		}
	}
	s.HeldFor, s.Marks.Held = "", 0
	return s, nil
}

// mustBeLoose refuses unless the roll is in the shop, in no set, and there is a
// reason.
func mustBeLoose(s State, e Entry) error {
	if s.Stage == StageMounted {
		return conflict(s.Marks.Mounted, s, e, s.whereMounted(), "take it out first", next.RecordChange(s.Stand))
	}
	if s.Set != "" {
		return conflict(s.Marks.Paired, s, e, "the roll is in set "+s.Set, "break the set first", next.BreakSet(s.Set))
	}
	return reasoned(s, e)
}

func regrade(s State, e Entry, b Regraded) (State, error) {
	if err := mustBeLoose(s, e); err != nil {
		return s, err
	}
	if b.Mill != "" {
		s.Mill = b.Mill
	}
	s.Stands = b.Stands
	return s, nil
}

func scrap(s State, e Entry, b Scrapped) (State, error) {
	if err := mustBeLoose(s, e); err != nil {
		return s, err
	}
	return s.scrapped(e, b.Why), nil
}

func (s State) scrapped(e Entry, why ScrapWhy) State {
	s.Stage, s.ScrapWhy, s.ScrappedAt, s.Marks.Scrapped = StageScrapped, why, e.At, e.Number
	return s
}

// whereMounted says in which stand the roll is, for a refusal.
func (s State) whereMounted() string {
	return fmt.Sprintf("the roll is in %s since %s", s.Stand, moment(s.MountedAt))
}
