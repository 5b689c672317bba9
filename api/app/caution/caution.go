// Package caution has the cautions that answers carry.
package caution

import (
	"slices"

	"barrelbook/domain/roll"
)

// The cautions the shop is shown. They are common practice, with no source;
// the mill's own practice, local codes and licensed people decide.
const (
	Limits  = "These are answers within the limits entered; the mill's own practice, local codes and licensed people decide."
	Crack   = "A cracked or spalled roll can burst: keep it behind a barrier, wear eye protection, use rated lifting gear."
	Warm    = "No water on a hot roll, no hot roll on a cold cradle: let it cool before it is ground or handled."
	Grind   = "Guard the wheel and use full coolant; hardened rolls hold stresses and have burst on the grinder."
	Stand   = "Lock out before entering a stand; use rated lifting gear for rolls and chocks."
	Suspect = "A roll that owes a crack test may be cracked, and a cracked roll can burst: keep it behind a barrier until the test is passed, and test before grinding."
	Unknown = "A test result that is not known is not a pass: the roll is not releasable on it."
)

// For chooses the cautions that belong to a roll's state.
func For(s roll.State) []string {
	list := []string{Limits}
	cracked := slices.ContainsFunc(s.Failed, func(f roll.Failure) bool { return f.Kind.FindsCracks() })
	switch {
	case cracked || s.ScrapWhy == roll.BySpall || s.ScrapWhy == roll.ByCrack || s.ScrapWhy == roll.ByNeck:
		list = append(list, Crack)
	case owesCrackTest(s):
		list = append(list, Suspect)
	}
	for _, o := range s.Owed {
		if o.Unknown {
			list = append(list, Unknown)
			break
		}
	}
	return list
}

// owesCrackTest says whether a test for cracks is due now.
func owesCrackTest(s roll.State) bool {
	return slices.ContainsFunc(s.Owed, func(o roll.Owed) bool { return o.Due && o.Kind.FindsCracks() })
}
