package rollload

import (
	"barrelbook/domain/refusal"
)

// Load is what presses on a stack, and the shapes of its rolls: all that may
// change from one piece to the next.
type Load struct {
	// Strip is the strip's load on the work roll in N/mm, at least 0, straight
	// between its points and 0 beyond them. It must lie on the work roll.
	Strip Points
	// BendingForceN is the force per chock, positive when it presses the work
	// roll away from the strip and on to the roll behind it.
	BendingForceN float64
	// IntermediateBendingForceN is the same on the chocks of the intermediate
	// roll, positive when it presses that on to the backup roll.
	IntermediateBendingForceN float64
	// Work, Intermediate and Backup are the shapes of the barrels.
	Work, Intermediate, Backup Profile
	// Whole asks for the equations of the whole barrel even where both halves
	// are alike; the answer is the same.
	Whole bool
}

// profiles are those of the rolls from the strip up.
func (l *Load) profiles(sixHigh bool) (list [mostJoints + 1]*Profile) {
	if sixHigh {
		return [...]*Profile{&l.Work, &l.Intermediate, &l.Backup}
	}
	return [...]*Profile{&l.Work, &l.Backup, nil}
}

// errTooWide refuses a load beyond Hertz's theory.
var errTooWide = refusal.One("strip_load", "", "presses the rolls wider than half of the smaller radius", "check the unit of the load")

// parts refuses forces that leave nothing to press on joint k.
func (l *Load) parts(k int) error {
	const apart = "pulls harder than the strip presses, so the rolls would part along the whole barrel"
	switch {
	case l.BendingForceN < 0:
		return refusal.One("bending_force_n", refusal.Number(l.BendingForceN), apart, "")
	case k > 0 && l.IntermediateBendingForceN < 0:
		return refusal.One("intermediate_bending_force_n", refusal.Number(l.IntermediateBendingForceN), apart, "")
	}
	return refusal.One("strip_load", "", "presses with no force at all", "")
}

// check gathers the refusals of a load on a stack.
func (l *Load) check(p Stack) error {
	var c refusal.Check
	checkStrip(&c, &l.Strip, p.Work)
	if !finite(l.BendingForceN) {
		c.Finite("bending_force_n", l.BendingForceN)
	}
	l.Work.Check(&c, "work", p.Work.BarrelLengthMM)
	if p.SixHigh() {
		if !finite(l.IntermediateBendingForceN) {
			c.Finite("intermediate_bending_force_n", l.IntermediateBendingForceN)
		}
		l.Intermediate.Check(&c, "intermediate", p.Intermediate.BarrelLengthMM)
	}
	l.Backup.Check(&c, "backup", p.Backup.BarrelLengthMM)
	return c.Err()
}
