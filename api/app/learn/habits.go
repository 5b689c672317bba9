package learn

import (
	"cmp"
	"maps"
	"slices"

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

// latelyKept is how many of the last cycles of a sort its habits are learned from.
const latelyKept = 400

// sort is cycles that habits are learned from together at the narrowest.
type sortOf struct {
	RateGroup
	grade, stand string
}

// lately are the last cycles of every sort, kept so that the habits after a regrind
// are learned from those alone, whatever the past.
type lately struct {
	cycles map[sortOf][]forecast.Run
	mill   map[string]string // that a roll was last in
	stale  map[RateGroup]bool
}

func newLately() *lately {
	return &lately{cycles: map[sortOf][]forecast.Run{}, mill: map[string]string{}, stale: map[RateGroup]bool{}}
}

// add takes regrinds in, in the order of their ids. A regrind that ended no stay
// counts for the mill its roll was in before.
func (l *lately) add(c *Basis, rows []port.GrindRow, past map[string][]port.GrindRow) {
	for _, g := range rows {
		of := c.groupOf(g)
		if of.Mill == "" {
			of.Mill = l.mill[g.Roll]
		}
		l.mill[g.Roll] = of.Mill
		cycle, ok := cycleOf(g)
		if !ok {
			continue
		}
		cycle.First = isFirst(past[g.Roll], g)
		k := sortOf{RateGroup: of, grade: g.Grade, stand: g.Stand()}
		list := append(l.cycles[k], cycle)
		if len(list) > 2*latelyKept {
			list = append([]forecast.Run(nil), list[len(list)-latelyKept:]...)
		}
		l.cycles[k] = list
		l.stale[of] = true
	}
}

// isFirst says whether a regrind ended its roll's first cycle.
func isFirst(past []port.GrindRow, g port.GrindRow) bool {
	for _, before := range past {
		if before.For != roll.ForIncoming {
			return !g.At.After(before.At)
		}
	}
	return true
}

// habits are those of all groups, learned again where something was added; the ones
// before stay as they are.
func (l *lately) habits(c *Basis, before map[RateGroup]forecast.Habits) map[RateGroup]forecast.Habits {
	all := map[RateGroup]forecast.Habits{}
	maps.Copy(all, before)
	sorts := slices.SortedFunc(maps.Keys(l.cycles), func(a, b sortOf) int {
		return cmp.Or(cmp.Compare(a.Mill, b.Mill), cmp.Compare(a.Role, b.Role), cmp.Compare(a.grade, b.grade), cmp.Compare(a.stand, b.stand))
	})
	lists := map[RateGroup][]forecast.Run{}
	for _, k := range sorts {
		if list := l.cycles[k]; l.stale[k.RateGroup] {
			lists[k.RateGroup] = append(lists[k.RateGroup], list[max(0, len(list)-latelyKept):]...)
		}
	}
	for of, list := range lists {
		all[of] = forecast.LearnHabits(list, c.habitDefaults(of))
	}
	clear(l.stale)
	return all
}

// Habits learns what the shop does with its rolls, for each role in each mill, from
// the last cycles of every sort.
func (c *Basis) Habits(rows []port.GrindRow) map[RateGroup]forecast.Habits {
	l := newLately()
	l.add(c, rows, byRoll(rows))
	return l.habits(c, nil)
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
