package gap

import (
	"math"

	"barrelbook/domain/rollload"
)

// StepWithinMM is the length over which an edge step is taken.
const StepWithinMM = 50

// EdgeStepUM is the greatest change of a worn contour within 50 mm between two
// places along the roll, µm on diameter, and where: the step that a strip which
// covers it would be marked by. 0 where there is no contour or nothing between
// the places.
func EdgeStepUM(worn rollload.Points, from, to float64) (step, at float64) {
	if len(worn.XMM) == 0 || !(to > from) {
		return 0, 0
	}
	// Straight pieces change most between a corner, or an end of the stretch, and
	// a place as far from it as may be, or another corner.
	corner := func(i int) float64 {
		switch {
		case i < 0:
			return from
		case i == len(worn.XMM):
			return to
		}
		return min(max(worn.XMM[i], from), to)
	}
	var here, before, after int // where each of three walkers is
	take := func(a, b, um float64) {
		if um = math.Abs(um); b > a && um > step {
			step, at = um, (a+b)/2
		}
	}
	for i := -1; i <= len(worn.XMM); i++ {
		x := corner(i)
		value := worn.Near(x, &here)
		low, high := max(x-StepWithinMM, from), min(x+StepWithinMM, to)
		take(low, x, value-worn.Near(low, &before))
		take(x, high, worn.Near(high, &after)-value)
		for j := i + 1; j <= len(worn.XMM) && corner(j)-x <= StepWithinMM; j++ {
			take(x, corner(j), worn.At(corner(j))-value)
		}
	}
	return step, at
}

// EdgeStep is the greatest edge step of the two rolls under the strip, µm on
// diameter, and whether it is the top roll's.
func (g *Gap) EdgeStep() (um float64, top bool) {
	for _, r := range [...]*Roll{&g.Top, &g.Bottom} {
		middle := g.OffsetMM - r.OffsetMM
		if step, _ := EdgeStepUM(r.WearUM, middle-g.WidthMM/2, middle+g.WidthMM/2); step > um {
			um, top = step, r == &g.Top
		}
	}
	return um, top
}
