package plan

import (
	"context"
	"time"

	"barrelbook/api/app/caution"
	"barrelbook/api/app/gather"
	"barrelbook/api/app/port"
	"barrelbook/domain/mill"
	"barrelbook/domain/quantity"
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
	Mounting *port.MountingRow
	Barrel   quantity.Micrometre
}

// Stand shows a stand. NotFound when there is none of the name.
func (a *Planner) Stand(ctx context.Context, name string) (StandView, error) {
	var v StandView
	err := a.store.Read(ctx, func(r port.Reader) error {
		stand, err := r.Stand(name)
		if err != nil {
			return err
		}
		v, err = a.standView(r, stand, a.clock.Now())
		return err
	})
	return v, err
}

func (a *Planner) standView(r port.Reader, stand mill.Stand, now time.Time) (StandView, error) {
	mountings, err := r.MountingsAt([]string{stand.Name}, now)
	if err != nil {
		return StandView{}, err
	}
	numbers := make([]string, len(mountings))
	for i, m := range mountings {
		numbers[i] = m.Roll
	}
	states, err := gather.StatesOf(r, numbers)
	if err != nil {
		return StandView{}, err
	}
	at := map[mill.Position]*port.MountingRow{}
	v := StandView{Stand: stand, Cautions: []string{caution.Limits, caution.Stand}}
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
