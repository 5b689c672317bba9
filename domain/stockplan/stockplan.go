// Package stockplan says which rolls to order by when: new rolls take months to
// come, so a roll must be ordered while the one it replaces still rolls.
package stockplan

import (
	"fmt"
	"math"
	"sort"
	"time"

	"barrelbook/domain/mill"
	"barrelbook/domain/refusal"
)

// Roll is one roll in service with its forecast.
type Roll struct {
	Number string
	Grade  string
	// Scrap is when its stock is expected to be used up: the tenth, the middle
	// and the ninetieth percentile. Zero where no date is known: then it counts as
	// one that is there.
	ScrapP10, ScrapP50, ScrapP90 time.Time
	// SharedCV is how much of that the rolls have in common: by how much the time to
	// the middle may be off for all of them together.
	SharedCV float64
	Price    int64 // minor units of one like it, 0 when not known
}

func (r Roll) dated() bool { return !r.ScrapP50.IsZero() }

// Group is the rolls that can take one another's place: those of one role that
// serve the same stands.
type Group struct {
	Name   string
	Stands []string
	Role   mill.Role
	Rolls  []Roll
	// Due is when each roll on order is to come.
	Due []time.Time
	// Needed is how many rolls the group must have to keep its stands running;
	// 0 stands for as many as there are.
	Needed       int
	DeliveryDays float64
	// ShortChance is how likely the group may be short of rolls on any day. 0 stands
	// for 0.05.
	ShortChance float64
	// StockUM is what is left on all rolls above their limits, and UsePerMonthUM
	// what grinds take off all of them in a month.
	StockUM       float64
	UsePerMonthUM float64
}

// Order is one roll to buy.
type Order struct {
	Group    string
	Replaces string // the roll that is due to go; empty for one that is missing now
	Grade    string
	// NeededFrom is the day from which the group would be short with more than the
	// chance it may; OrderBy is that less the delivery time and what deliveries are
	// late by.
	NeededFrom time.Time
	OrderBy    time.Time
	Expected   time.Time // P50 of the scrapping
	Late       bool      // OrderBy is past; a roll that is missing now is always late
	Price      int64
}

// Cover is how a group stands.
type Cover struct {
	Name   string
	Stands []string
	Role   mill.Role
	Rolls  int
	Needed int
	// Short is how many rolls are missing now, Due how many are on order.
	Short, Due int
	// ShortChance is the level kept, ChanceUntilDelivery how likely the group is
	// short on the day on which what is ordered now comes, if nothing is.
	ShortChance, ChanceUntilDelivery float64
	// Undated are the rolls of which no scrap date is known; they count as there.
	Undated int
	// CoverMonths is the stock on all rolls over what a month takes. False in
	// HasCover where nothing was taken yet.
	CoverMonths float64
	HasCover    bool
	Delivery    time.Duration
	Orders      []Order
	// Later counts the replacements beyond the horizon.
	Later int
}

// Beyond says whether the stock lasts more than five years: further than any rhythm
// tells.
func (c Cover) Beyond() bool { return c.HasCover && c.CoverMonths > 60 }

// Plan is the buying plan of all groups, in the order given.
type Plan struct {
	Covers []Cover
	// Orders are those of all groups, the earliest first.
	Orders []Order
}

// Input of a plan.
type Input struct {
	Now    time.Time
	Groups []Group
	// Until is the last day of ordering that is looked at.
	Until time.Time
	// Pace is the tonnage the programme asks for over that of the time the
	// forecasts come from: 1.2 uses rolls up in 1/1.2 of the time.
	Pace float64
}

// Make plans the orders: each as late as keeps the chance of running short at the
// level asked. On a day t the group is short where fewer than needed of its rolls
// are left and of those on order have come:
//
//	P(short on t) = E_z P( Σ_i alive_i(t | z) + Σ_j come_j(t) < needed )
//
// the sum by convolution of the rolls' chances, the expectation over what the dates
// of all rolls share (normal z, see Roll.SharedCV). Where it first passes the level
// a roll must have come, so it is ordered the delivery time before and as much as
// deliveries are late by; and so on with that roll in place. A delivery is late or
// early by a tenth of its time, as a standard deviation: common practice, no source.
// Pace brings all dates nearer: t' = now + (t − now)/pace.
//
// Rolls missing now are to be ordered now. A roll without a date counts as there.
// Days of delivery 0 … 3650, pace 0.01 … 100, chance 0 … 0.5. The chance is held
// against simulated shops in follow_test.go.
func Make(in Input) (Plan, error) {
	if err := check(in); err != nil {
		return Plan{}, err
	}
	var plan Plan
	for _, g := range in.Groups {
		cover := g.plan(in)
		plan.Covers = append(plan.Covers, cover)
		plan.Orders = append(plan.Orders, cover.Orders...)
	}
	sort.SliceStable(plan.Orders, func(i, j int) bool { return plan.Orders[i].OrderBy.Before(plan.Orders[j].OrderBy) })
	return plan, nil
}

func check(in Input) error {
	var c refusal.Check
	c.Within("pace", in.Pace, 0.01, 100)
	for i, g := range in.Groups {
		path := fmt.Sprintf("groups/%d", i)
		c.Within(path+"/delivery_days", g.DeliveryDays, 0, 3650)
		c.NotNegative(path+"/stock_um", g.StockUM)
		c.NotNegative(path+"/use_per_month_um", g.UsePerMonthUM)
		c.Within(path+"/short_chance", g.ShortChance, 0, 0.5)
		if g.Needed < 0 {
			c.Add(path+"/needed", fmt.Sprint(g.Needed), "must not be below 0", "")
		}
		for j, r := range g.Rolls {
			if r.ScrapP10.After(r.ScrapP50) || r.ScrapP50.After(r.ScrapP90) {
				c.Add(fmt.Sprintf("%s/rolls/%d", path, j), r.Number, "has a forecast whose percentiles do not rise", "")
			}
		}
	}
	return c.Err()
}

func (g Group) plan(in Input) Cover {
	f := newFleet(g, in)
	c := Cover{Name: g.Name, Stands: g.Stands, Role: g.Role, Rolls: len(g.Rolls), Needed: f.needed, Due: len(g.Due), Short: max(0, f.needed-len(g.Rolls)),
		ShortChance: f.level, Delivery: days(g.DeliveryDays), Undated: f.undated}
	if use := g.UsePerMonthUM * in.Pace; use > 0 {
		c.CoverMonths, c.HasCover = g.StockUM/use, true
	}
	// The first day for which an order made now is in time, and the last looked at.
	ahead := g.DeliveryDays
	if !f.often {
		ahead += surely * f.lateDays()
	}
	until := in.Until.Sub(in.Now).Hours()/24 + ahead
	c.ChanceUntilDelivery = f.short(ahead)
	spare := len(g.Rolls) + len(g.Due) - f.needed
	for range max(0, -spare) {
		f.planned = append(f.planned, ahead)
		c.Orders = append(c.Orders, Order{Group: g.Name, NeededFrom: in.Now, Expected: in.Now, OrderBy: in.Now.Add(-c.Delivery), Late: true})
	}
	due, next := f.dueRolls(), max(0, spare)
	since := f.start(ahead)
	for day := ahead; day <= until && next < len(due); {
		if !since.passes(day) {
			day += dayStep
			continue
		}
		r := due[next]
		next++
		o := Order{Group: g.Name, Replaces: r.Number, Grade: r.Grade, Price: r.Price, Expected: sooner(in.Now, r.ScrapP50, in.Pace)}
		from := day
		if day == ahead { // it may have been so before
			from = f.first(ahead)
			o.Late = from < ahead-dayStep
		}
		o.NeededFrom = in.Now.Add(days(from))
		o.OrderBy = in.Now.Add(days(f.add(day) - g.DeliveryDays - (day - from)))
		c.Orders = append(c.Orders, o)
		since.planned(day)
	}
	c.Later = len(due) - next
	return c
}

func days(d float64) time.Duration { return time.Duration(d * 24 * float64(time.Hour)) }

// sooner brings a moment ahead nearer by the pace, to the second; the past stays.
func sooner(now, t time.Time, pace float64) time.Time {
	if !t.After(now) {
		return t
	}
	seconds := math.Round(t.Sub(now).Seconds() / pace)
	return now.Add(time.Duration(math.Min(seconds, 1e9)) * time.Second)
}
