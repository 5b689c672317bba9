package record

import (
	"fmt"
	"strings"

	"barrelbook/api/app/gather"
	"barrelbook/api/app/port"
	"barrelbook/domain/mill"
	"barrelbook/domain/next"
	"barrelbook/domain/practice"
	"barrelbook/domain/quantity"
	"barrelbook/domain/refusal"
	"barrelbook/domain/release"
	"barrelbook/domain/roll"
)

// released refuses a set that is not released, by all that keeps it in.
func released(v gather.SetView) error {
	if v.Fitness.MayGoIn() {
		return nil
	}
	if v.Fitness.Word == release.NotReleased {
		return port.FailNext(next.ShowSet(v.Name), port.Conflicting, "set %s is not released: %s; do what is named, or an engineer releases it with a reason", v.Name, strings.Join(v.Fitness.MissingReasons, "; "))
	}
	return port.FailNext(next.ShowSet(v.Name), port.Conflicting, "set %s is not fit: %s", v.Name, strings.Join(v.Fitness.Reasons, "; "))
}

// maySetGoIn holds the rules that need more than one book: the set stands, its
// rolls serve the stand, the pair is still in tolerance.
func maySetGoIn(v gather.SetView, stand mill.Stand, practices []practice.Practice) error {
	switch {
	case !v.BrokenAt.IsZero():
		return port.FailNext(next.ListSets(), port.Conflicting, "set %s was broken on %s; see the sets that there are", v.Name, port.Moment(v.BrokenAt))
	case v.Stand != "":
		return port.Fail(port.Conflicting, "set %s is in %s", v.Name, v.Stand)
	}
	if why := gather.Misfit(v, stand); why != "" {
		return port.Refused(refusal.One("set_in", v.Name, why, "see the sets that are ready", next.ListReadySets()))
	}
	tolerance := practice.Resolve(practices, gather.CaseIn(v.TopState, stand)).Micrometres(practice.PairToleranceUM)
	return port.BookError(roll.WithinTolerance(v.TopState, v.BottomState, tolerance))
}

// stackCautions warns of a stack of rolls that is outside the stand's limits.
// It is no refusal: at a stop where both work and backup rolls are changed, one
// role is recorded before the other.
func stackCautions(stand mill.Stand, in []port.Stay) []string {
	if len(in) < len(stand.Arrangement.Positions()) {
		return nil
	}
	var stack quantity.Micrometre
	for _, m := range in {
		stack += m.Diameter
	}
	switch {
	case stand.MinStack > 0 && stack < stand.MinStack:
		return []string{fmt.Sprintf("The rolls now in %s make a stack of %s; the least it can close on is %s.", stand.Name, stack, stand.MinStack)}
	case stand.MaxStack > 0 && stack > stand.MaxStack:
		return []string{fmt.Sprintf("The rolls now in %s make a stack of %s; the most it has room for is %s.", stand.Name, stack, stand.MaxStack)}
	}
	return nil
}
