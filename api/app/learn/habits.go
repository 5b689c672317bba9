package learn

import (
	"time"

	"barrelbook/api/app/port"
	"barrelbook/domain/forecast"
	"barrelbook/domain/practice"
	"barrelbook/domain/roll"
)

// groupOf is where a regrind belongs: the mill of the stand it was last in, of
// no mill when it was in none.
func (c *Basis) groupOf(g port.GrindRow) RateGroup {
	if n := len(g.Uses); n > 0 {
		return RateGroup{c.MillOf[g.Uses[n-1].Stand], g.Role}
	}
	return RateGroup{"", g.Role}
}

// cycleOf is a regrind as the forecasts take it. The first grind of a new roll
// ends no cycle.
func cycleOf(g port.GrindRow) (forecast.Run, bool) {
	c := forecast.Run{Roll: g.Roll, Grade: g.Grade, Stand: g.Stand(), Role: g.Role, Since: g.Since, At: g.At,
		WearUM: float64(g.Wear()), StockUM: float64(g.Stock()), Normal: g.For.Normal(), Campaigns: len(g.Uses)}
	for i, u := range g.Uses {
		if i == 0 {
			c.MountedAt = u.MountedAt
		}
		c.WithdrawnAt = u.WithdrawnAt
		c.InStand += u.WithdrawnAt.Sub(u.MountedAt)
		c.TonnageT += u.TonnageT
		c.RolledKM += u.RolledKM
		c.ExposureKM += u.ExposureKM
	}
	return c, g.For != roll.ForIncoming
}

// cyclesOf are the regrinds of one roll that ended a cycle, in order of happening.
func cyclesOf(rows []port.GrindRow) []forecast.Run {
	var list []forecast.Run
	for _, g := range rows {
		if c, ok := cycleOf(g); ok {
			c.First = len(list) == 0
			list = append(list, c)
		}
	}
	return list
}

// Cycles are those of one roll.
func (k Knowledge) Cycles(number string) []forecast.Run { return cyclesOf(k.Past[number]) }

// Habits learns what the shop does with its rolls, for each role in each mill.
// A regrind that ended no stay counts for the mill its roll was in before.
func (c *Basis) Habits(rows []port.GrindRow) map[RateGroup]forecast.Habits {
	last := map[string]string{} // mill by roll
	cycles := map[RateGroup][]forecast.Run{}
	first := map[string]*time.Time{} // end of each roll's first cycle
	for i := range rows {
		if g := &rows[i]; g.For != roll.ForIncoming && (first[g.Roll] == nil || g.At.Before(*first[g.Roll])) {
			first[g.Roll] = &g.At
		}
	}
	for _, g := range rows {
		of := c.groupOf(g)
		if of.Mill == "" {
			of.Mill = last[g.Roll]
		}
		last[g.Roll] = of.Mill
		if cycle, ok := cycleOf(g); ok {
			cycle.First = !g.At.After(*first[g.Roll])
			cycles[of] = append(cycles[of], cycle)
		}
	}
	all := map[RateGroup]forecast.Habits{}
	for of, list := range cycles {
		all[of] = forecast.LearnHabits(list, c.habitDefaults(of))
	}
	return all
}

func (c *Basis) habitDefaults(of RateGroup) forecast.Defaults {
	p := practice.Resolve(c.Practices, practice.Scope{Mill: of.Mill, Role: of.Role})
	return forecast.Defaults{NormalStockUM: float64(p.Millimetres(practice.NormalStockMM))}
}

// HabitsOf are those of a role in a mill, the defaults where there are none.
func (k Knowledge) HabitsOf(of RateGroup, c *Basis) forecast.Habits {
	if h, ok := k.Habits[of]; ok {
		return h
	}
	return forecast.LearnHabits(nil, c.habitDefaults(of))
}
