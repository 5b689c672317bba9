package stock_test

import (
	"testing"

	"barrelbook/domain/practice"
	"barrelbook/domain/quantity"
	"barrelbook/domain/roll"
	"barrelbook/domain/stock"
)

// TestRedressTable: what is turned off is the wear in the groove and the margin of
// the practice, less what the collars have lost already, and what is left falls by
// as much.
func TestRedressTable(t *testing.T) {
	in := stock.Input{Practice: practice.Resolve([]practice.Practice{{Name: "p", Values: map[practice.Key]float64{practice.RedressMarginUM: 1500, practice.LeastStockMM: 0}}}, practice.Scope{Role: "work"}), Found: 339_990}
	in.State.Diameter = 340_000
	in.State.Roll = roll.Roll{Role: "work", Scrap: roll.ScrapLimits{Nominal: 337_000}}
	if stock.RedressTable(in) != nil {
		t.Error("a plain barrel has a redress table")
	}
	in.State.Roll.Grooves = []roll.Groove{{Number: 1, Depth: 8000}}
	table := stock.RedressTable(in)
	if len(table) < 5 {
		t.Fatalf("%d lines", len(table))
	}
	for i, line := range table {
		if want := line.GrooveWorn - 10 + 1500; line.Stock != want || line.Aim != 339_990-want || line.Left != line.Aim-337_000 {
			t.Errorf("worn %s: %+v, want %s off", line.GrooveWorn, line, want)
		}
		if i > 0 && line.GrooveWorn <= table[i-1].GrooveWorn {
			t.Errorf("line %d does not go on from the one before", i)
		}
	}
	if last := table[len(table)-1]; last.Left >= quantity.Micrometre(0) {
		t.Errorf("%+v is past the scrap limit and does not say so", last)
	}
}
