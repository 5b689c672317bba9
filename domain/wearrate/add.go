package wearrate

import (
	"slices"

	"barrelbook/domain/stop"
)

// Replace takes all the campaigns of one roll in the place of those known of it,
// in the order of their ends: after a regrind, a correction or a change told late.
// Only the roll's clusters are summed anew and the effects in common solved; the
// components and the weights of other campaigns stay as they are until Due.
// Refusals are those of Learn.
func (m *Model) Replace(roll string, campaigns []Campaign, ask stop.Check) error {
	runs := make([]Run, len(campaigns))
	for i := range campaigns {
		runs[i] = campaigns[i].Run
	}
	if err := check(runs, m.defaults); err != nil {
		return err
	}
	m.references(campaigns)
	number, known := m.rolls[roll]
	if !known {
		return nil // it has rolled nothing
	}
	touched := map[int]bool{}
	if number < len(m.of) && m.of[number] != nil {
		c := m.of[number]
		for i := range c.observations {
			if c.observations[i].roll == number {
				touched[m.cells[c.observations[i].cell].stand] = true
			}
		}
		c.observations = slices.DeleteFunc(c.observations, func(o observation) bool { return o.roll == number })
	}
	for i := range campaigns {
		if o, ok := m.observe(&campaigns[i]); ok {
			m.take(o)
			touched[m.cells[o.cell].stand] = true
		}
	}
	if number < len(m.of) && m.of[number] != nil {
		m.of[number].sort()
		m.refresh(m.of[number])
	}
	for stand := range touched {
		for m.findJump(stand, m.recent(stand)) {
			continue // there may be another since
		}
	}
	return nil
}

// refresh weighs and sums one cluster anew.
func (m *Model) refresh(c *cluster) {
	if c.b == nil || len(c.b) != len(c.rolls) {
		c.gather(m) // without weights yet for what is new: to have room for its rolls
	}
	for range 3 {
		c.weigh(m, nil)
		c.gather(m)
		m.solve()
	}
}

// Due says whether enough has come since everything was learned that it should be
// again: a tenth more campaigns.
func (m *Model) Due() bool { return m.campaigns() > m.seen+m.seen/10+20 }
