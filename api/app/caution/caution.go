// Package caution has the cautions that answers carry.
package caution

import (
	"slices"
	"strings"

	"barrelbook/domain/quantity"
	"barrelbook/domain/roll"
)

// The cautions the shop is shown. They are common practice, with no source;
// the mill's own practice, local codes and licensed people decide.
const (
	Limits    = "These are answers within the limits entered; the mill's own practice, local codes and licensed people decide."
	Crack     = "A cracked or spalled roll can burst: keep it behind a barrier, wear eye protection, use rated lifting gear."
	Warm      = "No water on a hot roll, no hot roll on a cold cradle: let it cool before it is ground or handled."
	Grind     = "Guard the wheel and use full coolant; hardened rolls hold stresses and have burst on the grinder."
	Stand     = "Lock out before entering a stand; use rated lifting gear for rolls and chocks."
	Suspect   = "A roll that owes a crack test may be cracked, and a cracked roll can burst: keep it behind a barrier until the test is passed, and test before grinding."
	Blows     = "No hammering and no flame on a barrel."
	Wheel     = "Before a wheel is mounted: ring test it, and hold its rated speed against the spindle's."
	ColdRoll  = "A hardened roll that is cold is brought to shop temperature before it is ground or used."
	WarmUp    = "Warm the rolls up after the change: the first pieces light and slow, as the mill's practice says."
	FullLoad  = "A cracked roll is not ground under full load: take it off in light cuts, and stop where the sound or the spark changes."
	Rest      = "After a spall or a quench stresses are left in the roll: leave it alone, behind a barrier, for as long as the mill's practice says before it is moved or ground."
	Below     = "Below its shell or its hardened depth the roll is another metal: it is not run there."
	Necks     = "Lift a roll by its necks, not by its barrel."
	Texturing = "Texturing by sparks is at mains voltage in a bath that burns: lock it out before reaching in. A plated barrel gives off chromium(VI) when it is stripped or ground: extraction, and no dust on skin."
	Burst     = "Rolls that come out of a mishap owe a test for cracks and may burst, in the stand, on the way or on the grinder: keep people clear and put them behind a barrier until they are tested"
	Unknown   = "A test result that is not known is not a pass: the roll is not releasable on it."
)

// hardenedShoreC is the hardness from which a barrel counts as hardened right
// through its skin and may burst when it is cold: common practice, no source.
const hardenedShoreC = 85

// For chooses the cautions that belong to a roll's state.
func For(s roll.State) []string {
	list := []string{Limits}
	switch {
	case Cracked(s) || s.ScrapWhy == roll.BySpall || s.ScrapWhy == roll.ByCrack || s.ScrapWhy == roll.ByNeck:
		list = append(list, Crack)
	case OwesCrackTest(s):
		list = append(list, Suspect)
	}
	if slices.ContainsFunc(s.Owed, func(o roll.Owed) bool { return o.Unknown }) {
		list = append(list, Unknown)
	}
	if belowShell(s, s.Diameter) {
		list = append(list, Below)
	}
	return list
}

// ForGrind are those of a roll that goes on the grinder, with the diameter it is
// ground to.
func ForGrind(s roll.State, aim quantity.Micrometre) []string {
	list := append(For(s), Grind, Wheel, Necks, Blows)
	if Cracked(s) || OwesCrackTest(s) {
		list = append(list, FullLoad)
	}
	if s.Hardness >= hardenedShoreC {
		list = append(list, ColdRoll)
	}
	if belowShell(s, aim) && !slices.Contains(list, Below) {
		list = append(list, Below)
	}
	return list
}

// ForChange are those of a roll change: of the rolls that came out and of those
// that went in.
func ForChange(out, in []roll.State) []string {
	list := []string{Stand, Warm, Necks}
	var suspect []string
	for _, s := range out {
		if Cracked(s) || OwesCrackTest(s) {
			suspect = append(suspect, s.Roll.Number)
		}
	}
	if len(suspect) > 0 {
		list = append(list, Burst+": "+strings.Join(suspect, ", ")+".")
	}
	if len(in) > 0 {
		list = append(list, WarmUp)
	}
	if slices.ContainsFunc(in, func(s roll.State) bool { return s.Hardness >= hardenedShoreC }) {
		list = append(list, ColdRoll)
	}
	return list
}

// ForMishap are those of a mishap.
func ForMishap(what roll.What) []string {
	list := []string{Limits, Stand, Warm}
	switch what {
	case roll.Spall, roll.FireCrack, roll.NeckMishap:
		list = append(list, Crack)
	}
	switch what {
	case roll.Spall, roll.CoolingLoss:
		list = append(list, Rest)
	}
	return list
}

// Cracked says whether a test found a crack that is not known to be gone.
func Cracked(s roll.State) bool {
	return len(s.Defects) > 0 || slices.ContainsFunc(s.Failed, func(f roll.Failure) bool { return f.Kind.FindsCracks() })
}

func belowShell(s roll.State, diameter quantity.Micrometre) bool {
	return diameter < max(s.Roll.Scrap.ShellDepth, s.Roll.Scrap.HardenedDepth)
}

// OwesCrackTest says whether a test for cracks is due now.
func OwesCrackTest(s roll.State) bool {
	return slices.ContainsFunc(s.Owed, func(o roll.Owed) bool { return o.Due && o.Kind.FindsCracks() })
}
