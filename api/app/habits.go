package app

import (
	"barrelbook/domain/forecast"
	"barrelbook/domain/practice"
	"barrelbook/domain/roll"
)

// courseOf is where a regrind belongs: the mill of the stand it was last in, of
// no mill when it was in none.
func (c *class) courseOf(g GrindRow) course {
	if n := len(g.Uses); n > 0 {
		return course{c.millOf[g.Uses[n-1].Stand], g.Role}
	}
	return course{"", g.Role}
}

// cycleOf is a regrind as the forecasts take it. The first grind of a new roll
// ends no cycle.
func cycleOf(g GrindRow) (forecast.Cycle, bool) {
	c := forecast.Cycle{Roll: g.Roll, Grade: g.Grade, Stand: g.Stand(), Role: g.Role, Since: g.Since, At: g.At,
		WearUM: float64(g.Wear()), StockUM: float64(g.Stock()), Normal: g.For.Normal(), Campaigns: len(g.Uses)}
	for _, u := range g.Uses {
		c.InStand += u.WithdrawnAt.Sub(u.MountedAt)
		c.TonnageT += u.TonnageT
		c.RolledKM += u.RolledKM
		c.ExposureKM += u.ExposureKM
	}
	return c, g.For != roll.ForIncoming
}

// habits learns what the shop does with its rolls, for each role in each mill.
// A regrind that ended no stay counts for the mill its roll was in before.
func (c *class) habits(rows []GrindRow) map[course]forecast.Habits {
	last := map[string]string{} // mill by roll
	cycles := map[course][]forecast.Cycle{}
	for _, g := range rows {
		of := c.courseOf(g)
		if of.mill == "" {
			of.mill = last[g.Roll]
		}
		last[g.Roll] = of.mill
		if cycle, ok := cycleOf(g); ok {
			cycles[of] = append(cycles[of], cycle)
		}
	}
	all := map[course]forecast.Habits{}
	for of, list := range cycles {
		all[of] = forecast.LearnHabits(list, c.habitDefaults(of))
	}
	return all
}

func (c *class) habitDefaults(of course) forecast.Defaults {
	p := practice.Resolve(c.practices, practice.Scope{Mill: of.mill, Role: of.role})
	return forecast.Defaults{NormalStockUM: float64(p.Millimetres(practice.NormalStockMM))}
}

// habitsOf are those of a role in a mill, the defaults where there are none.
func (k knowledge) habitsOf(of course, c *class) forecast.Habits {
	if h, ok := k.habits[of]; ok {
		return h
	}
	return forecast.LearnHabits(nil, c.habitDefaults(of))
}
