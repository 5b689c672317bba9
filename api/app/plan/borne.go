package plan

import (
	"context"

	"barrelbook/api/app/gather"
	"barrelbook/api/app/learn"
	"barrelbook/api/app/port"
	"barrelbook/domain/mill"
	"barrelbook/domain/practice"
	"barrelbook/domain/roll"
)

// Learn brings the rates now known up to date, so that what is shown after it is
// what every answer starts from. It must not be called inside a transaction.
func (a *Planner) Learn(ctx context.Context) error {
	_, err := a.learner.Known(ctx)
	return err
}

// RatesVersion is the version of the rates that what is shown starts from.
func (a *Planner) RatesVersion() int64 { return a.learner.Current().Version }

// Borne shows what those of the rolls that are in stands have borne since their
// grind, by roll.
func (a *Planner) Borne(r port.Reader, states []roll.State, practices []practice.Practice) (map[string]*gather.Borne, error) {
	borne := map[string]*gather.Borne{}
	mills := map[string]*gather.Standing{}
	seen := map[string]bool{}
	for _, s := range states {
		if s.Stage != roll.StageMounted || seen[s.Stand] {
			continue
		}
		seen[s.Stand] = true
		stand, err := r.Stand(s.Stand)
		if err != nil {
			return nil, err
		}
		now := mills[stand.Mill]
		if now == nil {
			m, err := r.Mill(stand.Mill)
			if err != nil {
				return nil, err
			}
			now = gather.NewStanding(r, a.models, learn.RatesIn(a.learner.Current()), m, &gather.Shop{Practices: practices, Now: a.clock.Now()})
			mills[stand.Mill] = now
		}
		if err := now.Read([]mill.Stand{stand}); err != nil {
			return nil, err
		}
		for _, m := range now.Mounted[stand.Name] {
			one, err := now.Roll(m, stand)
			if err != nil {
				return nil, err
			}
			borne[m.Roll] = gather.BorneBy(&one, stand)
		}
	}
	return borne, nil
}
