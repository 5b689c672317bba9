package gather

import (
	"time"

	"barrelbook/api/app/port"
)

// heatHours is how long rolling is followed to know how warm a roll is: at the
// defaults of the time constants nothing of what was before is left.
const heatHours = 24

// Reheat gives the rolls of stands through which a piece came late the heat of
// all their pieces in order.
func (in *Stays) Reheat(now time.Time) error {
	for stand := range in.belated {
		from := now
		for _, m := range in.byStand[stand] {
			if stay := in.conditions[m.ID]; stay != nil && stay.last && (from.Equal(now) || stay.thermalAt.After(from)) {
				from = stay.thermalAt
			}
		}
		if err := in.reheat(stand, from.Add(-heatHours*time.Hour)); err != nil {
			return err
		}
	}
	return nil
}

func (in *Stays) reheat(name string, from time.Time) error {
	stand, err := in.r.Stand(name)
	if err != nil {
		return err
	}
	rows, err := in.r.MountingsBetween([]string{name}, from, time.Time{})
	if err != nil {
		return err
	}
	again, err := NewReplay(in.r, in.models, in.Now, rows, nil, nil)
	if err != nil {
		return err
	}
	for page := (port.Page{Limit: 500}); ; {
		pieces, next, err := in.r.PiecesBetween(stand.Mill, from, time.Time{}, page)
		if err != nil {
			return err
		}
		for _, p := range pieces {
			if err := again.Add(p, func(s string) bool { return s == name }); err != nil {
				return err
			}
		}
		if page.After = next; next == "" {
			break
		}
	}
	for id, stay := range in.conditions {
		if warm := again.conditions[id]; warm != nil && stay.last {
			stay.condition.Thermal, stay.thermalAt = warm.condition.Thermal, warm.thermalAt
		}
	}
	return nil
}
