package roll

import (
	"fmt"

	"barrelbook/domain/next"
	"barrelbook/domain/quantity"
)

// regrind applies a grind. Its rules, in the order a grinder hand would check
// them: the roll is in the shop and not held; it is not the same grind again;
// found is not above last ground; ground is above neither found nor last
// ground; nothing is off by more than a plausible amount unless confirmed; a
// roll below its scrap limit is scrapped by it, and only when confirmed.
func regrind(s State, e Entry, b Reground) (State, error) {
	if err := mayGrind(s, e); err != nil {
		return s, err
	}
	if err := plausible(s, e, b); err != nil {
		return s, err
	}
	if err := mayRedress(s, e, b); err != nil {
		return s, err
	}
	limit, name := s.ScrapLimit()
	below := b.Ground < limit
	if below && b.Confirm == "" {
		return s, cannotBe("ground_mm", s, e, fmt.Sprintf("ground %s is below the scrap limit %s (%s)", b.Ground, limit, name),
			"check the reading; if it really was ground so far, confirm it with a reason: the roll is then scrapped", next.Confirm())
	}
	before := s.Diameter
	taken := before - b.Ground
	s.StockRemoved += taken
	if b.For == ForCrack || b.For == ForIncident {
		s.IncidentStock += taken
	}
	if b.For.Normal() && b.For != ForIncoming {
		s.Taken = append(s.Taken, b.Found-b.Ground)
		s.Taken = s.Taken[max(0, len(s.Taken)-grindsKept):]
	}
	s.Diameter, s.GroundAt, s.Marks.Ground = b.Ground, e.At, e.Number
	s.Regrinds++
	s.CampaignsSinceGrind = 0
	s.Concession = nil
	s.measured(b.Measures)
	s.cut(b, min(b.Found, before))
	last := b
	s.LastRegrind = &last
	s.tests(e, b.Tests)
	s.Stage = StageGround
	if s.Set != "" {
		s.Stage = StagePaired
	}
	if below {
		return s.scrapped(e, ByDiameter), nil
	}
	return s, nil
}

// grindsKept is how many stocks a state keeps: enough for what is usual of a roll.
const grindsKept = 5

// cut takes the stock off the defects known and off the fire cracks. Depths are
// below the surface as found, as a test was made on it or a crack ran into it
// while it wore: the wear itself takes nothing off them.
func (s *State) cut(b Reground, surface quantity.Micrometre) {
	radial := float64(surface-b.Ground) / 2
	var left []Defect
	for _, d := range s.Defects {
		if d.DepthUM -= radial; d.DepthUM > 0 {
			left = append(left, d)
		}
	}
	s.Defects = left
	f := FireCracks{BeforeUM: s.FireCracks.LeftUM, GrownUM: b.FireCrackUM}
	f.RemovedUM = min(radial, f.BeforeUM+f.GrownUM)
	f.LeftUM = f.BeforeUM + f.GrownUM - f.RemovedUM
	s.FireCracks = f
}

func mayGrind(s State, e Entry) error {
	if s.Stage == StageMounted {
		return conflict(s.Marks.Mounted, s, e, s.whereMounted(), "record the roll change first", next.RecordChange(s.Stand))
	}
	if s.HeldFor != "" {
		return conflict(s.Marks.Held, s, e, "the roll is held: "+s.HeldFor, "release it first", next.ReleaseRoll(e.Roll))
	}
	return nil
}

// plausible compares the two diameters with what the book says and with one
// another. Found comes first: where it is the slip, ground looks wrong too and
// is not.
func plausible(s State, e Entry, b Reground) error {
	if l := s.LastRegrind; l != nil && l.FoundAsRead == b.FoundAsRead && l.Ground == b.Ground && b.Confirm == "" && s.CampaignsSinceGrind == 0 {
		return conflict(s.Marks.Ground, s, e, fmt.Sprintf("the same regrind, found %s and ground %s, is in the book already, of %s", l.FoundAsRead, l.Ground, moment(s.GroundAt)),
			"nothing need be done; if it was ground a second time, record the diameters of the second grind")
	}
	if err := plausibleFound(s, e, b); err != nil {
		return err
	}
	return plausibleGround(s, e, b)
}

func plausibleFound(s State, e Entry, b Reground) error {
	if b.Found > s.Diameter+b.GaugeUncertainty {
		return cannotBe("found_mm", s, e, fmt.Sprintf("found %s is above the last ground diameter %s by more than the gauge's uncertainty %s%s",
			b.Found, s.Diameter, b.GaugeUncertainty, slip(b.FoundAsRead, s.Diameter)),
			"measure again; if the last ground diameter is the wrong one, correct that entry", next.CorrectRegrind(e.Roll))
	}
	if wear := s.Diameter - b.Found; wear > b.MaxPlausible && b.Confirm == "" {
		return cannotBe("found_mm", s, e, fmt.Sprintf("found %s is %s below the last ground diameter %s; more than %s is not taken unconfirmed%s",
			b.Found, wear, s.Diameter, b.MaxPlausible, slip(b.FoundAsRead, s.Diameter)),
			confirmed(s, b), next.Confirm())
	}
	return nil
}

func plausibleGround(s State, e Entry, b Reground) error {
	if b.Ground > b.Found {
		return cannotBe("ground_mm", s, e, fmt.Sprintf("ground %s is above found %s%s", b.Ground, b.Found, slip(b.Ground, b.Found)),
			"a grind takes off: check both diameters")
	}
	// The gauge may have read found too high, but a roll does not grow.
	if b.Ground > s.Diameter {
		return cannotBe("ground_mm", s, e, fmt.Sprintf("ground %s is above the last ground diameter %s", b.Ground, s.Diameter),
			"measure again; where the gauge only reads high within its uncertainty, record the last ground diameter")
	}
	if stock := b.Found - b.Ground; stock > b.MaxPlausible && b.Confirm == "" {
		return cannotBe("ground_mm", s, e, fmt.Sprintf("the stock, found %s less ground %s, is %s; more than %s is not taken unconfirmed%s",
			b.Found, b.Ground, stock, b.MaxPlausible, slip(b.Ground, b.Found)),
			confirmed(s, b), next.Confirm())
	}
	return nil
}

// confirmed says how a figure that looks wrong is taken after all. One reason
// confirms all of the entry, so that it also says when that scraps the roll.
func confirmed(s State, b Reground) string {
	do := "check the reading and its unit; if it is right, confirm it with a reason"
	if limit, name := s.ScrapLimit(); b.Ground < limit {
		do += fmt.Sprintf(": the roll is then scrapped, as %s is below its scrap limit %s (%s)", b.Ground, limit, name)
	}
	return do
}

// slip guesses at the mistake behind a diameter that is far from the one
// expected: a radius, inches, or two digits changed over.
func slip(read, expected quantity.Micrometre) string {
	near := func(v float64) bool {
		d := v - float64(expected)
		return d > -0.02*float64(expected) && d < 0.005*float64(expected)
	}
	r := float64(read)
	switch {
	case near(r):
		return ""
	case near(2 * r):
		return "; it looks like a radius"
	case near(r * 25.4):
		return "; it looks like inches: add the unit, as in 29.07in"
	case near(r * 10), near(r / 10):
		return "; it looks like a slipped decimal point"
	case digitsChanged(read, expected):
		return "; it looks as if two digits changed places"
	}
	return ""
}

// digitsChanged says whether swapping two neighbouring digits of read brings
// it near what is expected.
func digitsChanged(read, expected quantity.Micrometre) bool {
	digits := []byte(fmt.Sprintf("%d", read))
	for i := 0; i+1 < len(digits); i++ {
		digits[i], digits[i+1] = digits[i+1], digits[i]
		var v quantity.Micrometre
		for _, d := range digits {
			v = 10*v + quantity.Micrometre(d-'0')
		}
		digits[i], digits[i+1] = digits[i+1], digits[i]
		if gap := expected - v; v != read && gap >= -expected/200 && gap <= expected/50 {
			return true
		}
	}
	return false
}
