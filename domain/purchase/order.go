// Package purchase keeps what the shop buys: orders of rolls until they have come,
// claims on those that failed early, and offers of suppliers held against one
// another.
package purchase

import (
	"slices"
	"time"

	"barrelbook/domain/mill"
	"barrelbook/domain/quantity"
	"barrelbook/domain/refusal"
)

// Order is rolls of one kind ordered together.
type Order struct {
	Name     string
	Mill     string
	Role     mill.Role
	Stands   []string // those the rolls are for; empty for all of the mill
	Grade    string
	Supplier string
	Rolls    int
	// NewDiameter and ScrapDiameter are of the rolls ordered; 0 when not known.
	NewDiameter   quantity.Micrometre
	ScrapDiameter quantity.Micrometre
	MassKG        float64 // of one roll, 0 when not known
	Price         int64   // of one roll, minor units; 0 when not known
	OrderedAt     time.Time
	DueAt         time.Time
	Warranty      Warranty
	Arrived       []string // the numbers of the rolls that have come
	ClosedAt      time.Time
	ClosedWhy     string // no more will come
	By            string
	Note          string
}

// Warranty is what a supplier stands for. Zero stands for not given.
type Warranty struct {
	TonnageT float64
	RolledKM float64
	Months   float64 // from the receipt
}

// ToCome is how many rolls are still to come.
func (o Order) ToCome() int {
	if !o.ClosedAt.IsZero() {
		return 0
	}
	return max(0, o.Rolls-len(o.Arrived))
}

// Open says whether rolls are still to come.
func (o Order) Open() bool { return o.ToCome() > 0 }

// Late says whether rolls should have come by a moment and have not.
func (o Order) Late(now time.Time) bool { return o.Open() && o.DueAt.Before(now) }

// PricePerKG is minor units per kilogram of roll. False where it is not known.
func (o Order) PricePerKG() (float64, bool) {
	if o.Price <= 0 || o.MassKG <= 0 {
		return 0, false
	}
	return float64(o.Price) / o.MassKG, true
}

// PricePerMM is minor units per millimetre of diameter that can be used up. False
// where it is not known.
func (o Order) PricePerMM() (float64, bool) {
	usable := o.NewDiameter - o.ScrapDiameter
	if o.Price <= 0 || o.ScrapDiameter <= 0 || usable <= 0 {
		return 0, false
	}
	return float64(o.Price) / usable.MM(), true
}

// Check refuses an order that cannot be. Fields have the names of the contract.
func (o Order) Check() error {
	var c refusal.Check
	if o.Rolls < 1 {
		c.Add("roll_count", refusal.Number(float64(o.Rolls)), "must be at least 1", "")
	}
	if o.DueAt.Before(o.OrderedAt) {
		c.Add("due_at", o.DueAt.Format(time.RFC3339), "must not be before it was ordered, "+o.OrderedAt.Format(time.RFC3339), "check the two dates")
	}
	if o.ScrapDiameter > 0 && o.NewDiameter > 0 && o.ScrapDiameter >= o.NewDiameter {
		c.Add("scrap_diameter_mm", o.ScrapDiameter.String(), "must be below the new diameter, "+o.NewDiameter.String(), "")
	}
	c.NotNegative("mass_kg", o.MassKG)
	c.NotNegative("warranty/tonnage_t", o.Warranty.TonnageT)
	c.NotNegative("warranty/rolled_km", o.Warranty.RolledKM)
	c.NotNegative("warranty/months", o.Warranty.Months)
	return c.Err()
}

// Arrive takes rolls that came. Refused: one that is named twice or came before,
// more than were ordered, and a closed order.
func (o Order) Arrive(rolls []string) (Order, error) {
	var c refusal.Check
	if !o.ClosedAt.IsZero() {
		c.Add("rolls", "", "is of an order that was closed on "+o.ClosedAt.Format(time.DateOnly), "check the order; what comes after all is a new one")
	}
	arrived := slices.Clone(o.Arrived)
	for _, number := range rolls {
		if slices.Contains(arrived, number) {
			c.Add("rolls", number, "has come with this order already", "")
			continue
		}
		arrived = append(arrived, number)
	}
	if len(arrived) > o.Rolls {
		c.Add("rolls", refusal.Number(float64(len(rolls))), "are more than are to come, "+refusal.Number(float64(o.ToCome())), "check the order")
	}
	o.Arrived = arrived
	return o, c.Err()
}
