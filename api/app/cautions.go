package app

import (
	"slices"
	"strconv"

	"barrelbook/domain/roll"
)

// The cautions the shop is shown. They are common practice, with no source;
// the mill's own practice, local codes and licensed people decide.
const (
	cautionLimits  = "These are answers within the limits entered; the mill's own practice, local codes and licensed people decide."
	cautionCrack   = "A cracked or spalled roll can burst: keep it behind a barrier, wear eye protection, use rated lifting gear."
	cautionWarm    = "No water on a hot roll, no hot roll on a cold cradle: let it cool before it is ground or handled."
	cautionGrind   = "Guard the wheel and use full coolant; hardened rolls hold stresses and have burst on the grinder."
	cautionStand   = "Lock out before entering a stand; use rated lifting gear for rolls and chocks."
	cautionSuspect = "A roll that owes a crack test may be cracked, and a cracked roll can burst: keep it behind a barrier until the test is passed, and test before grinding."
	cautionUnknown = "A test result that is not known is not a pass: the roll is not releasable on it."
)

// cautionsFor chooses the cautions that belong to a roll's state.
func cautionsFor(s roll.State) []string {
	list := []string{cautionLimits}
	cracked := slices.ContainsFunc(s.Failed, func(f roll.Failure) bool { return f.Kind.FindsCracks() })
	switch {
	case cracked || s.ScrapWhy == roll.BySpall || s.ScrapWhy == roll.ByCrack || s.ScrapWhy == roll.ByNeck:
		list = append(list, cautionCrack)
	case owesCrackTest(s):
		list = append(list, cautionSuspect)
	}
	for _, o := range s.Owed {
		if o.Unknown {
			list = append(list, cautionUnknown)
			break
		}
	}
	return list
}

// owesCrackTest says whether a test for cracks is due now.
func owesCrackTest(s roll.State) bool {
	return slices.ContainsFunc(s.Owed, func(o roll.Owed) bool { return o.Due && o.Kind.FindsCracks() })
}

func itoa(i int) string { return strconv.Itoa(i) }
