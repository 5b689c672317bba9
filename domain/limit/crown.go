package limit

import (
	"barrelbook/domain/gap"
	"barrelbook/domain/practice"
)

// crownChange is how far the gap's crown has moved since the rolls were ground:
// what bending, shift and cooling must take up. Past it the strip's crown can no
// longer be corrected. It is that of both work rolls and told of the first.
var crownChange = Kind{
	Criterion: "crown_change", Key: practice.MaxCrownChangeUM, Unit: "µm", Words: "change of the gap's crown", Noun: "crown-change", Short: "crown", Unforced: true,
	Ends: func(roll, limit string, _ int) string {
		return "the crown of the gap between " + roll + " and its partner has moved " + limit + ", more than can be corrected"
	},
	Watch: gapWatch(practice.MaxCrownChangeUM, (*gap.Gap).Crown, func(g *gapAhead) float64 { return g.crownUM }),
}

// gapWatch watches one measure of the gap, at the planned figures: wear, heat and
// bending partly cancel, so that no factor on the whole says how doubtful it is.
func gapWatch(key practice.Key, measure func(*gap.Gap) gap.Weights, rest func(*gapAhead) float64) func(*Ahead, int) []Watch {
	return func(a *Ahead, j int) []Watch {
		if j != 0 || len(a.Rolls) < 2 {
			return nil
		}
		w, ok := of(a.Rolls[j], key)
		if !ok || !a.anyGap() {
			return nil
		}
		w.Growth, w.Spread = &Gaping{a: a, of: measure, rest: rest}, Exact
		w.Source += "; use: wear, heat, contour, bending of the axes and crossing of both work rolls against the rolls as ground, at " +
			Number(a.edgeMM()) + " mm from the strip's edge, taken at the planned figures"
		return []Watch{w}
	}
}

func (a *Ahead) anyGap() bool {
	for i := range a.gaps {
		if a.gaps[i].known {
			return true
		}
	}
	return false
}
