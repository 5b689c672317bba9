package roll

import (
	"fmt"

	"barrelbook/domain/quantity"
	"barrelbook/domain/refusal"
)

// Groove is one groove of a roll. A grooved roll's diameter of record is that
// of its collars; redressing turns every groove deeper by the same cut and the
// collars with them, so that depths stay what they were at receipt.
type Groove struct {
	Number int                 // as painted on the roll, from 1
	Depth  quantity.Micrometre // below the collar, on radius
	Title  string
}

// Grooved says whether pieces go through grooves of the roll.
func (r Roll) Grooved() bool { return len(r.Grooves) > 0 }

// HasGroove says whether the roll has a groove of the number.
func (r Roll) HasGroove(number int) bool { return number >= 1 && number <= len(r.Grooves) }

// CheckGrooves refuses grooves that are not numbered 1, 2, 3 … in order, and
// one so deep that at the scrap diameter nothing of the roll is left below it.
func CheckGrooves(grooves []Groove, scrap quantity.Micrometre) error {
	var c refusal.Check
	for i, g := range grooves {
		path := fmt.Sprintf("grooves/%d", i)
		if g.Number != i+1 {
			c.Add(path+"/number", fmt.Sprint(g.Number), fmt.Sprintf("must be %d", i+1), "number the grooves from 1 without a gap, in order")
		}
		if g.Depth < 0 || 2*g.Depth >= scrap {
			c.Add(path+"/depth_mm", g.Depth.String(), "must not be below 0 and must leave something of the scrap diameter "+scrap.String(), "depths are on radius")
		}
	}
	return c.Err()
}

// mayRedress holds the rules of grooved rolls. Any grind of one turns all its
// grooves; one that is shallower than the deepest worn groove would leave that
// groove unclean. The cut counts from the last ground diameter, because that is
// where the grooves were measured from.
func mayRedress(s State, e Entry, b Reground) error {
	if !s.Roll.Grooved() {
		if b.For == ForRedress {
			return cannotBe("purpose", s, e, "the roll has a plain barrel, which is ground and not redressed", "give the purpose wear, or receive a grooved roll with its grooves")
		}
		return nil
	}
	switch b.For {
	case ForWear, ForProfile, ForRetexture:
		return cannotBe("purpose", s, e, fmt.Sprintf("the roll has %d grooves, and a grind of it turns them all", len(s.Roll.Grooves)), "record it with the purpose redress")
	}
	if cut := s.Diameter - b.Ground; cut < b.GrooveWorn {
		return cannotBe("ground_mm", s, e, fmt.Sprintf("the redress takes %s off the diameter and the deepest groove is worn by %s", cut, b.GrooveWorn),
			"turn at least that much, or give the wear as measured (groove_worn_um)")
	}
	return nil
}
