package report

import (
	"cmp"
	"context"
	"maps"
	"runtime"
	"slices"
	"sync"
	"time"

	"barrelbook/api/app/gather"
	"barrelbook/api/app/learn"
	"barrelbook/api/app/plan"
	"barrelbook/api/app/port"
	"barrelbook/domain/mill"
	"barrelbook/domain/practice"
	"barrelbook/domain/roll"
	"barrelbook/domain/stockplan"
)

// fleet is the forecasts of all rolls that are not scrapped, by group.
type fleet struct {
	now     time.Time
	version int64
	groups  []StockGroup
	plans   []stockplan.Group
	recentT float64
	without []string
}

func (a *Reporter) fleet(ctx context.Context, in BuyingInput) (fleet, error) {
	k, err := a.learner.Known(ctx)
	if err != nil {
		return fleet{}, err
	}
	f := fleet{now: a.clock.Now(), version: k.Rates.Version}
	err = a.store.Read(ctx, func(r port.Reader) error {
		if in.Mill != "" {
			if _, err := r.Mill(in.Mill); err != nil {
				return err
			}
		}
		o, err := plan.NewOutlook(r, k, f.now)
		if err != nil {
			return err
		}
		rolls, err := allRolls(r, port.RollFilter{Mill: in.Mill})
		if err != nil {
			return err
		}
		f.recentT = recentTonnage(k.Rows, f.now, in.Mill, o.Basis)
		shared := newSharing(o.MillOf, rolls)
		if err := f.gather(o, rolls, shared, in.NeededRolls); err != nil {
			return err
		}
		return f.takeOrders(r, in.Mill, shared)
	})
	return f, err
}

// recentTonnage is the most that a stand of the mill passed a month in the last
// quarter, by the campaigns that ended in it: what all stands pass is the mill's.
func recentTonnage(rows []port.GrindRow, now time.Time, millName string, c *learn.Basis) float64 {
	from := now.AddDate(0, -3, 0)
	byStand := map[string]float64{}
	for _, g := range rows {
		for _, u := range g.Uses {
			if g.Role == mill.Work && u.WithdrawnAt.After(from) && !u.WithdrawnAt.After(now) && (millName == "" || c.MillOf[u.Stand] == millName) {
				byStand[u.Stand] += u.TonnageT / 2
			}
		}
	}
	most := 0.0
	for _, t := range byStand {
		most = max(most, t)
	}
	return most / 3
}

// gather forecasts the rolls, on as many processors as there are, and puts them
// into groups.
func (f *fleet) gather(o *plan.Outlook, rolls map[string]port.RollRow, shared *sharing, needed int) error {
	numbers := slices.Sorted(maps.Keys(rolls))
	scraps := make([]stockplan.Roll, len(numbers))
	usage := make([]float64, len(numbers))
	why := make([]string, len(numbers))
	var wait sync.WaitGroup
	workers := runtime.GOMAXPROCS(0)
	for worker := range workers {
		wait.Go(func() {
			for i := worker; i < len(numbers); i += workers {
				scraps[i], usage[i], why[i] = o.ScrapOf(rolls[numbers[i]].State)
			}
		})
	}
	wait.Wait()
	index := map[string]int{}
	for i, number := range numbers {
		s := rolls[number].State
		if s.Stage == roll.StageScrapped {
			continue
		}
		of := groupOf{s.Mill, s.Roll.Role}
		name, stands := shared.group(of, s.Stands)
		at, ok := index[name]
		if !ok {
			at = len(f.groups)
			index[name] = at
			p := practice.Resolve(o.Practices, gather.CaseOf(s))
			f.groups = append(f.groups, StockGroup{Mill: s.Mill, Role: s.Roll.Role, Stands: stands, ByStage: map[roll.Stage]int{}})
			f.plans = append(f.plans, stockplan.Group{Name: name, Stands: stands, Role: s.Roll.Role, Needed: cmp.Or(needed, shared.needed(of, stands, o.Practices)), DeliveryDays: p.Number(practice.DeliveryDays),
				ShortChance: p.Number(practice.ShortChance)})
		}
		g, plan := &f.groups[at], &f.plans[at]
		g.Rolls++
		g.ByStage[s.Stage]++
		if s.HeldFor != "" {
			g.Held++
		}
		left := max(0, s.StockLeft())
		g.StockLeftMM += left.MM()
		plan.StockUM += float64(left)
		if s.Campaigns > 0 { // one that never ran waits in the store for another's place
			plan.UsePerMonthUM += usage[i]
		}
		if why[i] != "" {
			// It is there, whenever it will go.
			f.without = append(f.without, number+": "+why[i])
			scraps[i].ScrapP10, scraps[i].ScrapP50, scraps[i].ScrapP90 = time.Time{}, time.Time{}, time.Time{}
		}
		scraps[i].Price = priceOf(s, o.Practices)
		plan.Rolls = append(plan.Rolls, scraps[i])
	}
	f.order()
	return nil
}
