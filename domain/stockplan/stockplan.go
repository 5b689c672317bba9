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
	// and the ninetieth percentile.
	ScrapP10, ScrapP50, ScrapP90 time.Time
	Price                        int64 // minor units of one like it, 0 when not known
}

// Group is the rolls that can take one another's place: those of one role that
// serve the same stands.
type Group struct {
	Name   string
	Stands []string
	Role   mill.Role
	Rolls  []Roll
	// Needed is how many rolls the group must have to keep its stands running;
	// 0 stands for as many as there are.
	Needed       int
	DeliveryDays float64
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
	// NeededFrom is the day on which the group would be short with a chance of
	// one in ten; OrderBy is that less the delivery time.
	NeededFrom time.Time
	OrderBy    time.Time
	Expected   time.Time // P50 of the same scrapping
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
	// Short is how many rolls are missing now.
	Short int
	// CoverMonths is the stock on all rolls over what a month takes. False in
	// HasCover where nothing was taken yet.
	CoverMonths float64
	HasCover    bool
	Delivery    time.Duration
	Orders      []Order
	// Later counts the replacements beyond the horizon.
	Later int
}

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

// Make plans the orders. A group that has more rolls than it needs can let the
// first ones go; from then on every scrapping needs a new roll:
//
//	pace brings a forecast nearer: t' = now + (t − now)/pace
//	the k-th roll due, by its P10 date, is replaced when rolls − k < needed
//	order by = P10 scrap date − delivery time
//
// Rolls missing now are to be ordered now. Days of delivery 0 … 3650, pace 0.01 …
// 100. The P10 of each roll by itself is the careful reading: that they all come
// early together is less likely than one in ten.
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
	needed := g.Needed
	if needed == 0 {
		needed = len(g.Rolls)
	}
	delivery := time.Duration(g.DeliveryDays * 24 * float64(time.Hour))
	c := Cover{Name: g.Name, Stands: g.Stands, Role: g.Role, Rolls: len(g.Rolls), Needed: needed, Short: max(0, needed-len(g.Rolls)), Delivery: delivery}
	if use := g.UsePerMonthUM * in.Pace; use > 0 {
		c.CoverMonths, c.HasCover = g.StockUM/use, true
	}
	for range c.Short {
		c.Orders = append(c.Orders, Order{Group: g.Name, NeededFrom: in.Now, Expected: in.Now, OrderBy: in.Now.Add(-delivery), Late: true})
	}
	due := append([]Roll(nil), g.Rolls...)
	sort.SliceStable(due, func(i, j int) bool { return due[i].ScrapP10.Before(due[j].ScrapP10) })
	for k, r := range due {
		if len(due)-(k+1) >= needed {
			continue // one that need not be replaced
		}
		o := Order{Group: g.Name, Replaces: r.Number, Grade: r.Grade, Price: r.Price,
			NeededFrom: sooner(in.Now, r.ScrapP10, in.Pace), Expected: sooner(in.Now, r.ScrapP50, in.Pace)}
		o.OrderBy = o.NeededFrom.Add(-delivery)
		if o.OrderBy.After(in.Until) {
			c.Later++
			continue
		}
		o.Late = o.OrderBy.Before(in.Now)
		c.Orders = append(c.Orders, o)
	}
	return c
}

// sooner brings a moment ahead nearer by the pace, to the second; the past stays.
func sooner(now, t time.Time, pace float64) time.Time {
	if !t.After(now) {
		return t
	}
	seconds := math.Round(t.Sub(now).Seconds() / pace)
	return now.Add(time.Duration(math.Min(seconds, 1e9)) * time.Second)
}
