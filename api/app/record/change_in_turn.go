package record

import (
	"slices"

	"barrelbook/api/app/gather"
	"barrelbook/api/app/port"
	"barrelbook/domain/duty"
)

// inTurn says whether a change is the last at its stand and nothing was rolled since:
// all that it does to stays is to end some and begin others.
func (c changing) inTurn(t through) bool {
	return c.turn.next.Name == "" && t.pieces == 0
}

// settleInTurn ends the stays of the rolls that were in and begins those of the set
// that goes in, as their books tell by now. It needs no look at the past of any roll.
func (c changing) settleInTurn(x exchange, then gather.SetView) error {
	said, additions := statedOf(c.view.ChangeRow), map[int64]duty.Usage{}
	ended := map[string]port.Stay{}
	for _, m := range c.turn.in {
		if !slices.Contains(x.out, m.Roll) {
			continue
		}
		m.WithdrawnAt = c.view.At
		if err := c.w.MoveMounting(m); err != nil {
			return err
		}
		if said.Stated {
			m.Usage.Add(said)
			additions[m.ID] = said
		}
		ended[m.Roll] = m
	}
	if err := c.w.AddUsage(additions); err != nil {
		return err
	}
	for _, number := range x.out {
		if m, ok := ended[number]; ok {
			c.view.Out = append(c.view.Out, m)
		}
	}
	s := &stays{w: c.w}
	for i := range x.in {
		state := then.TopState
		if i > 0 {
			state = then.BottomState
		}
		m := port.Stay{Roll: x.in[i], Stand: c.view.Stand, Position: gather.PositionOf(c.view.Role, i == 0), Set: then.Name, MountedAt: c.view.At, Diameter: state.Diameter}
		s.open = append(s.open, m)
	}
	if err := s.write(); err != nil {
		return err
	}
	c.view.In = append(c.view.In, s.open...)
	for _, number := range append(slices.Clone(x.out), x.in...) {
		if err := placeSetOf(c.w, number); err != nil {
			return err
		}
	}
	return nil
}
