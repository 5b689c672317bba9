package plan

import (
	"context"
	"time"

	"barrelbook/api/app/caution"
	"barrelbook/api/app/gather"
	"barrelbook/api/app/learn"
	"barrelbook/api/app/port"
	"barrelbook/domain/mill"
	"barrelbook/domain/quantity"
	"barrelbook/domain/wearrate"
)

// StandView is a stand with the rolls in it.
type StandView struct {
	Stand     mill.Stand
	Positions []StandPosition // in the order of the arrangement, empty ones too
	Stack     quantity.Micrometre
	Load      *StandLoad        // nil where no piece or no pair of rolls is known
	Trouble   *wearrate.Trouble // nil where it wears as it always has
	Cautions  []string
}

// StandPosition is one place and the roll in it; Mounting is nil when empty.
type StandPosition struct {
	Position mill.Position
	Mounting *port.Stay
	Barrel   quantity.Micrometre
	Now      *gather.Borne
}

// Stand shows a stand. NotFound when there is none of the name.
func (a *Planner) Stand(ctx context.Context, name string) (StandView, error) {
	k, err := a.learner.Known(ctx)
	if err != nil {
		return StandView{}, err
	}
	var v StandView
	err = a.store.Read(ctx, func(r port.Reader) error {
		stand, err := r.Stand(name)
		if err != nil {
			return err
		}
		m, err := r.Mill(stand.Mill)
		if err != nil {
			return err
		}
		shop, err := gather.OpenShop(r, a.clock.Now())
		if err != nil {
			return err
		}
		now := gather.NewStanding(r, a.models, learn.RatesIn(k.Rates), m, shop)
		if err := now.Read([]mill.Stand{stand}); err != nil {
			return err
		}
		now.StartsAt = time.Time{} // as warm as the last piece left them
		v, err = standView(r, now, stand, m.Density())
		v.Trouble = learn.TroubleAt(k.Rates, stand)
		return err
	})
	return v, err
}

func standView(r port.Reader, now *gather.Standing, stand mill.Stand, densityKGPerM3 float64) (StandView, error) {
	at := map[mill.Position]*port.Stay{}
	v := StandView{Stand: stand, Cautions: []string{caution.Limits, caution.Stand}}
	mountings := now.Mounted[stand.Name]
	for i, m := range mountings {
		at[m.Position] = &mountings[i]
		v.Stack += m.Diameter
	}
	for _, p := range stand.Arrangement.Positions() {
		place := StandPosition{Position: p, Mounting: at[p]}
		if at[p] != nil {
			one, err := now.Roll(*at[p], stand)
			if err != nil {
				return v, err
			}
			place.Barrel, place.Now = now.States[one.Number].Roll.BarrelLength, gather.BorneBy(&one, stand)
		}
		v.Positions = append(v.Positions, place)
	}
	var err error
	v.Load, err = standLoad(r, now, stand, densityKGPerM3)
	return v, err
}
