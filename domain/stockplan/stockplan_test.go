package stockplan_test

import (
	"fmt"
	"testing"
	"time"

	"pgregory.net/rapid"

	"barrelbook/domain/mill"
	"barrelbook/domain/refusal"
	"barrelbook/domain/stockplan"
)

var now = time.Date(2026, 6, 1, 0, 0, 0, 0, time.UTC)

func after(days float64) time.Time { return now.Add(time.Duration(days * 24 * float64(time.Hour))) }

func due(number string, days float64) stockplan.Roll {
	return stockplan.Roll{Number: number, Grade: "hss", ScrapP10: after(days), ScrapP50: after(days * 1.2), ScrapP90: after(days * 1.5), Price: 60_000_00}
}

// Four rolls, three needed, eight months of delivery: the first may go, the
// second is to be ordered 240 days, and what deliveries are late by, before the day from
// which the chance of being short is above 5 %.
func Example() {
	plan, _ := stockplan.Make(stockplan.Input{Now: now, Until: after(365), Pace: 1, Groups: []stockplan.Group{{
		Name: "F1 F2 work", Role: mill.Work, Needed: 3, DeliveryDays: 240, StockUM: 60_000, UsePerMonthUM: 5_000,
		Rolls: []stockplan.Roll{due("W4", 900), due("W1", 100), due("W3", 500), due("W2", 200)},
	}}})
	c := plan.Covers[0]
	fmt.Printf("%s: %d rolls, %d needed, %.0f months of stock\n", c.Name, c.Rolls, c.Needed, c.CoverMonths)
	for _, o := range plan.Orders {
		fmt.Printf("for %s order by %s, late %t\n", o.Replaces, o.OrderBy.Format(time.DateOnly), o.Late)
	}
	fmt.Println(c.Later, "later")
	// Output:
	// F1 F2 work: 4 rolls, 3 needed, 12 months of stock
	// for W2 order by 2026-03-02, late true
	// for W3 order by 2026-12-13, late false
	// 1 later
}

func TestMissingRollsAreOrderedNow(t *testing.T) {
	plan, err := stockplan.Make(stockplan.Input{Now: now, Until: after(30), Pace: 1, Groups: []stockplan.Group{{Name: "F1 backup", Needed: 4, DeliveryDays: 300, Rolls: []stockplan.Roll{due("B1", 5000)}}}})
	if err != nil {
		t.Fatal(err)
	}
	if c := plan.Covers[0]; c.Short != 3 || len(plan.Orders) != 3 || !plan.Orders[0].Late || c.HasCover || c.Later != 1 {
		t.Errorf("%+v", plan)
	}
}

// Orders are as many as are needed once all rolls are used up, no earlier date is put
// behind a later one, and at twice the tonnage none is later by more than the step of
// days and what a delivery may be late by.
func TestPaceAndOrder(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(0, 8).Draw(t, "rolls")
		needed := rapid.IntRange(1, 8).Draw(t, "needed")
		g := stockplan.Group{Name: "g", Needed: needed, DeliveryDays: rapid.Float64Range(0, 400).Draw(t, "delivery")}
		for i := range n {
			g.Rolls = append(g.Rolls, due(fmt.Sprint(i), rapid.Float64Range(0, 900).Draw(t, "days")))
		}
		made := func(pace float64) []stockplan.Order {
			plan, err := stockplan.Make(stockplan.Input{Now: now, Until: after(2500), Pace: pace, Groups: []stockplan.Group{g}})
			if err != nil {
				t.Fatal(err)
			}
			if len(plan.Orders) != needed {
				t.Fatalf("%d orders for %d of %d rolls needed", len(plan.Orders), needed, n)
			}
			for i, o := range plan.Orders {
				if i > 0 && o.OrderBy.Before(plan.Orders[i-1].OrderBy) {
					t.Fatalf("order %d is earlier than the one before", i)
				}
				if (o.Replaces != "" && o.Late && !o.OrderBy.Before(now)) || o.NeededFrom.Before(o.OrderBy) {
					t.Fatalf("order %+v", o)
				}
			}
			return plan.Orders
		}
		usual, twice := made(1), made(2)
		for i := range usual {
			if twice[i].OrderBy.After(usual[i].OrderBy.Add(time.Duration((3 + 0.165*g.DeliveryDays) * 24 * float64(time.Hour)))) {
				t.Fatalf("order %d is to be made by %s, at twice the tonnage by %s", i, usual[i].OrderBy, twice[i].OrderBy)
			}
		}
	})
}

// A roll without a date counts as one that is there, and one on order is taken off.
func TestWhatIsThereIsNotOrdered(t *testing.T) {
	g := stockplan.Group{Name: "g", Needed: 4, DeliveryDays: 200, Rolls: []stockplan.Roll{due("W1", 300), due("W2", 2000), {Number: "N1"}, {Number: "N2"}}}
	plan := func() stockplan.Cover {
		p, err := stockplan.Make(stockplan.Input{Now: now, Until: after(200), Pace: 1, Groups: []stockplan.Group{g}})
		if err != nil {
			t.Fatal(err)
		}
		return p.Covers[0]
	}
	c := plan()
	if c.Short != 0 || c.Undated != 2 || len(c.Orders) != 1 || c.Orders[0].Replaces != "W1" {
		t.Errorf("%+v", c)
	}
	g.Due = []time.Time{after(150)}
	if c = plan(); c.Due != 1 || len(c.Orders) != 0 {
		t.Errorf("with one on order: %+v", c)
	}
}

func TestRefusals(t *testing.T) {
	bad := due("W1", 100)
	bad.ScrapP90 = now
	_, err := stockplan.Make(stockplan.Input{Now: now, Pace: 0, Groups: []stockplan.Group{{Needed: -1, DeliveryDays: -1, StockUM: -1, Rolls: []stockplan.Roll{bad}}}})
	if n := len(refusal.FieldsOf(err)); n != 5 {
		t.Errorf("%d refusals: %v", n, err)
	}
}
