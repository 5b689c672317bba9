package limit

import (
	"barrelbook/domain/gap"
	"barrelbook/domain/practice"
)

// quarter is the change of the gap halfway between the strip's middle and edge
// over a parabola: what bending, which moves a parabola, leaves behind.
var quarter = Kind{
	Criterion: "quarter_change", Key: practice.MaxQuarterUM, Unit: "µm", Words: "change of the gap at the quarter points", Noun: "quarter-point", Short: "quarter points", Unforced: true,
	Ends: func(roll, limit string, _ int) string {
		return "the gap between " + roll + " and its partner is off by " + limit + " at the quarter points"
	},
	Watch: gapWatch(practice.MaxQuarterUM, (*gap.Gap).Quarter, func(g *gapAhead) float64 { return g.quarterUM }),
}
