package app

import (
	"context"
	"time"

	"barrelbook/domain/mill"
	"barrelbook/domain/quantity"
	"barrelbook/domain/refusal"
)

// StandView is a stand with the rolls in it.
type StandView struct {
	Stand     mill.Stand
	Positions []StandPosition // in the order of the arrangement, empty ones too
	Stack     quantity.Micrometre
	Load      *StandLoad // nil where no piece or no pair of rolls is known
	Cautions  []string
}

// StandPosition is one place and the roll in it; Mounting is nil when empty.
type StandPosition struct {
	Position mill.Position
	Mounting *MountingRow
	Barrel   quantity.Micrometre
}

// Stand shows a stand. NotFound when there is none of the name.
func (a *App) Stand(ctx context.Context, name string) (StandView, error) {
	var v StandView
	err := a.store.Read(ctx, func(r Reader) error {
		stand, err := r.Stand(name)
		if err != nil {
			return err
		}
		v, err = a.standView(r, stand, a.clock.Now())
		return err
	})
	return v, err
}

func (a *App) standView(r Reader, stand mill.Stand, now time.Time) (StandView, error) {
	mountings, err := r.MountingsAt([]string{stand.Name}, now)
	if err != nil {
		return StandView{}, err
	}
	numbers := make([]string, len(mountings))
	for i, m := range mountings {
		numbers[i] = m.Roll
	}
	states, err := statesOf(r, numbers)
	if err != nil {
		return StandView{}, err
	}
	at := map[mill.Position]*MountingRow{}
	v := StandView{Stand: stand, Cautions: []string{cautionLimits, cautionStand}}
	for i, m := range mountings {
		at[m.Position] = &mountings[i]
		v.Stack += m.Diameter
	}
	for _, p := range stand.Arrangement.Positions() {
		place := StandPosition{Position: p, Mounting: at[p]}
		if at[p] != nil {
			place.Barrel = states[at[p].Roll].Roll.BarrelLength
		}
		v.Positions = append(v.Positions, place)
	}
	v.Load, err = a.standLoad(r, stand, mountings, states, now)
	return v, err
}

// Stands lists the stands of a mill, or all, in pass order.
func (a *App) Stands(ctx context.Context, millName string, p Page) (items []mill.Stand, next string, err error) {
	err = a.store.Read(ctx, func(r Reader) error {
		items, next, err = r.Stands(millName, p)
		return err
	})
	return items, next, err
}

// CreateStand keeps a stand. Conflicting when the name is taken, Impossible
// when its mill is unknown or its limits cross.
func (a *App) CreateStand(ctx context.Context, call Call, s mill.Stand) (mill.Stand, error) {
	return record(ctx, a, call, "added stand "+s.Name, func(w Writer, _ time.Time) (mill.Stand, error) {
		s.Version = 1
		if err := checkStandLimits(w, s); err != nil {
			return mill.Stand{}, err
		}
		return s, w.CreateStand(s)
	})
}

// ReplaceStand keeps a new version. Stale when call.IfVersion is not the
// current one.
func (a *App) ReplaceStand(ctx context.Context, call Call, s mill.Stand) (mill.Stand, error) {
	return record(ctx, a, call, "changed stand "+s.Name, func(w Writer, now time.Time) (mill.Stand, error) {
		old, err := w.Stand(s.Name)
		if err != nil {
			return mill.Stand{}, err
		}
		if err := checkStandLimits(w, s); err != nil {
			return mill.Stand{}, err
		}
		if old.Mill != s.Mill || old.Arrangement != s.Arrangement {
			mounted, err := w.MountingsAt([]string{s.Name}, now)
			if err != nil {
				return mill.Stand{}, err
			}
			if len(mounted) > 0 {
				return mill.Stand{}, fail(Conflicting, "stand %s has rolls in it; take them out before its mill or arrangement changes", s.Name)
			}
		}
		s.Version = call.IfVersion
		if err := w.ReplaceStand(s); err != nil {
			return mill.Stand{}, err
		}
		s.Version++
		return s, nil
	})
}

func checkStandLimits(r Reader, s mill.Stand) error {
	var c refusal.Check
	if err := known(&c, "mill", s.Mill, func() error { _, err := r.Mill(s.Mill); return err }); err != nil {
		return err
	}
	if s.MaxRPM > 0 && s.MinRPM > s.MaxRPM {
		c.Add("min_rpm", refusal.Number(s.MinRPM), "must not be above max_rpm "+refusal.Number(s.MaxRPM), "")
	}
	if s.MaxStack > 0 && s.MinStack > s.MaxStack {
		c.Add("min_stack_mm", s.MinStack.String(), "must not be above max_stack_mm "+s.MaxStack.String(), "")
	}
	return impossible(c.Err())
}
