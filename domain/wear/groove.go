package wear

import (
	"fmt"
	"math"

	"barrelbook/domain/quantity"
	"barrelbook/domain/refusal"
)

// Groove is what one groove of a roll has borne since it was last turned. The
// zero Groove is freshly turned: a spare.
type Groove struct {
	// Tonnes through the groove.
	Tonnes float64
	// WornUM is its wear on diameter, computed by Use or replaced by what was
	// measured.
	WornUM float64
}

// Use sends tonnes through groove number (from 1, as painted on the roll) and
// wears it by umPerKT, µm on diameter per 1000 t. The rate is the mill's own,
// by grade, stand and groove form; wear in proportion to tonnes is common
// practice, no source. On an error nothing is changed.
func Use(grooves []Groove, number int, tonnes, umPerKT float64) error {
	var c refusal.Check
	checkNumber(&c, grooves, number)
	c.NotNegative("tonnage_t", tonnes)
	c.NotNegative("groove_um_per_kt", umPerKT)
	if err := c.Err(); err != nil {
		return err
	}
	g := grooves[number-1]
	g.Tonnes += tonnes
	g.WornUM += umPerKT * tonnes / 1000
	if !(g.WornUM <= deepestLayUM) || math.IsInf(g.Tonnes, 0) {
		return refusal.One("tonnage_t", refusal.Number(tonnes), "wears more than a metre off the groove", "check the units of tonnage and rate")
	}
	grooves[number-1] = g
	return nil
}

func checkNumber(c *refusal.Check, grooves []Groove, number int) {
	if number < 1 || number > len(grooves) {
		c.Add("groove", fmt.Sprint(number), fmt.Sprintf("is not a groove of this roll, which has %d", len(grooves)), "")
	}
}

// Spare counts the grooves nothing has gone through since they were turned,
// and gives the number of the first, 0 when there is none: the groove to
// change to without changing the roll.
func Spare(grooves []Groove) (spares, first int) {
	for i, g := range grooves {
		if g == (Groove{}) {
			spares++
			if first == 0 {
				first = i + 1
			}
		}
	}
	return spares, first
}

// TonnesLeft is what the roll can still take before it must be redressed, all
// its grooves run to limitT in turn: Σ max(0, limit - tonnes).
func TonnesLeft(grooves []Groove, limitT float64) (float64, error) {
	var c refusal.Check
	c.Positive("groove_limit_t", limitT)
	if err := c.Err(); err != nil {
		return 0, err
	}
	left := 0.0
	for _, g := range grooves {
		left += max(0, limitT-g.Tonnes)
	}
	return finite("groove_limit_t", limitT, left)
}

// LeastRedress is the smallest redress on diameter that cleans every groove:
// the deepest wear, rounded up to whole micrometres, plus the mill's margin.
func LeastRedress(grooves []Groove, margin quantity.Micrometre) (quantity.Micrometre, error) {
	worn, _, err := deepestGroove(grooves)
	if err != nil {
		return 0, err
	}
	if margin < 0 || margin > deepestLayUM {
		return 0, refusal.One("redress_margin_mm", margin.String(), "must lie between 0 and 1 m", "")
	}
	return worn + margin, nil
}

// deepestGroove is the deepest wear and the number of its groove. The wear is
// rounded up, but for a last-digit excess of the sum over pieces.
func deepestGroove(grooves []Groove) (worn quantity.Micrometre, number int, err error) {
	var c refusal.Check
	deepest := 0.0
	for i, g := range grooves {
		c.Within(fmt.Sprintf("grooves/%d/worn_um", i), g.WornUM, 0, deepestLayUM)
		if g.WornUM > deepest {
			deepest, number = g.WornUM, i+1
		}
	}
	return quantity.Micrometre(math.Ceil(deepest - 1e-6)), number, c.Err()
}

// Redress turns every groove of a roll deeper by the same cut, on diameter, so
// that each keeps its form; the barrel between them comes down with them. It
// gives the roll's diameter after it and marks every groove fresh, the spares
// too, as they were turned like the rest.
//
//	D' = D - cut
//
// A cut shallower than the deepest worn groove is refused: it would leave that
// groove unclean. So is one that takes the roll below scrap. On an error
// nothing is changed.
func Redress(grooves []Groove, diameter, cut, scrap quantity.Micrometre) (quantity.Micrometre, error) {
	worn, number, err := deepestGroove(grooves)
	if err != nil {
		return 0, err
	}
	var c refusal.Check
	switch {
	case len(grooves) == 0:
		c.Add("grooves", "", "has none: a plain barrel is ground, not redressed", "record a regrind")
	case cut <= 0:
		c.Add("redress_mm", cut.String(), "must be greater than 0", "")
	case cut < worn:
		c.Add("redress_mm", cut.String(), fmt.Sprintf("on diameter is shallower than groove %d is worn, %s", number, worn),
			"turn at least that much, or correct the groove's measured wear")
	case scrap < 0 || diameter-cut < scrap:
		c.Add("redress_mm", cut.String(), fmt.Sprintf("on diameter takes the roll from %s below its scrap diameter %s", diameter, scrap),
			"scrap the roll")
	}
	if err := c.Err(); err != nil {
		return 0, err
	}
	clear(grooves)
	return diameter - cut, nil
}

// RedressesLeft is how many whole redresses (or grinds) of a usual cut lie
// between a diameter and scrap, in integers: (712.400-680.000)/0.450 is 72.
func RedressesLeft(diameter, scrap, cut quantity.Micrometre) (int64, error) {
	if cut <= 0 {
		return 0, refusal.One("redress_mm", cut.String(), "must be greater than 0", "")
	}
	return max(0, int64(diameter-scrap)/int64(cut)), nil
}

// WorkingDiameter is the diameter at the bottom of a groove of depth h below
// the barrel, D - 2h: what rolling speed and the strength of the roll go by.
func WorkingDiameter(diameter, depth quantity.Micrometre) (quantity.Micrometre, error) {
	if depth < 0 || depth >= (diameter+1)/2 {
		return 0, refusal.One("groove_depth_mm", depth.String(), "must not be below 0 and must leave a roll of "+diameter.String(), "")
	}
	return diameter - 2*depth, nil
}

// WallCut is the cut on diameter that cleans a groove wall worn by wallUM,
// measured square to the wall, when the wall stands taperDeg away from the
// radial plane:
//
//	cut = 2·wall / sin(taper)
//
// since turning s deeper on the radius moves such a wall only s·sin(taper)
// square to itself. It is why steep-sided box grooves take millimetres off a
// roll for tenths of wear. Taper in (0, 90] degrees; 90 is the groove's
// bottom. Plain geometry; worked by hand in the tests.
func WallCut(wallUM, taperDeg float64) (quantity.Micrometre, error) {
	var c refusal.Check
	c.Within("wall_worn_um", wallUM, 0, deepestLayUM)
	c.Within("wall_taper_deg", taperDeg, 0.1, 90)
	if err := c.Err(); err != nil {
		return 0, err
	}
	return quantity.Micrometre(math.Ceil(2*wallUM/math.Sin(taperDeg*math.Pi/180) - 1e-6)), nil
}
