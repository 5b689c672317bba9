package record

import (
	"slices"
	"time"

	"barrelbook/api/app/gather"
	"barrelbook/api/app/port"
	"barrelbook/domain/mill"
)

// reckon computes the clean stays again with the models and holds wear, pressure
// and damage against them.
func (c *recount) reckon() error {
	var stays []port.Stay
	var since time.Time
	follows := map[int64]bool{}
	for _, m := range c.in.Mountings {
		if c.fresh[m.ID] {
			stays = append(stays, m)
			if since.IsZero() || m.MountedAt.Before(since) {
				since = m.MountedAt
			}
		}
	}
	if !slices.ContainsFunc(stays, func(m port.Stay) bool { return c.clean[m.ID] && m.Usage.Pieces > 0 }) {
		return nil
	}
	var followed []string
	for _, number := range c.order {
		if c.followed(number) {
			followed = append(followed, number)
			for _, m := range c.rolls[number] {
				follows[m.ID] = true
			}
		}
	}
	again, err := gather.NewReplay(c.r, c.app.models, c.now, stays, follows, nil)
	if err != nil {
		return err
	}
	err = c.pieces(since, func(p mill.Piece) error {
		return again.Add(p, func(stand string) bool {
			mounted := c.in.MountedAt(stand, p.RolledAt)
			return len(mounted) > 0 && !slices.ContainsFunc(mounted, func(m port.Stay) bool { return !c.fresh[m.ID] })
		})
	})
	if err != nil {
		return err
	}
	for _, m := range stays {
		u, has := again.Usage[m.ID], m.Usage
		if c.clean[m.ID] && (apart(u.MaxPeakPressureMPa, has.MaxPeakPressureMPa, sameLoad) || apart(u.DeepestWearUM(), has.DeepestWearUM(), sameLoad)) {
			c.add("mountings", staysKey(m), "by the practices in force its pieces give a wear of %.2f µm and a pressure of %.0f MPa; kept are %.2f µm and %.0f MPa",
				u.DeepestWearUM(), u.MaxPeakPressureMPa, has.DeepestWearUM(), has.MaxPeakPressureMPa)
		}
	}
	return c.damage(again, followed)
}

// followed says whether all that a roll bore is replayed. What was stated in totals
// leaves no damage.
func (c *recount) followed(number string) bool {
	return !slices.ContainsFunc(c.rolls[number], func(m port.Stay) bool { return !c.clean[m.ID] && c.counted[m.ID].Pieces > 0 })
}

// damage holds what is kept of the rolls that were followed from their first piece
// against what their pieces left in them. A grind since takes off layers of both.
func (c *recount) damage(again *gather.Replay, followed []string) error {
	kept := map[string]port.DamageRow{}
	rows, err := c.r.Damage(followed)
	if err != nil {
		return err
	}
	for _, d := range rows {
		kept[d.Roll] = d
	}
	for _, left := range again.Left() {
		if !slices.Contains(followed, left.Roll) {
			continue
		}
		has, ok := kept[left.Roll]
		delete(kept, left.Roll)
		if off := left.Diameter - has.Diameter; ok && off > 0 {
			if err := left.Field.Grind(off.MM() / 2); err != nil {
				return err
			}
		}
		if a, b := left.Field.Worst().Damage, has.Field.Worst().Damage; !ok && a > 0 || ok && apart(a, b, sameLoad) {
			c.add("roll_damage", left.Roll, "by the practices in force its pieces and grinds leave a damage of %.3g in its worst layer; kept is %.3g", a, b)
		}
	}
	for _, number := range followed {
		if d, ok := kept[number]; ok && d.Field.Worst().Damage > 0 {
			c.add("roll_damage", number, "no piece left a damage in it; kept is %.3g in its worst layer", d.Field.Worst().Damage)
		}
	}
	return nil
}
