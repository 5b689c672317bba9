package stock

import "barrelbook/domain/quantity"

// Redress is a line of the redress table of a grooved roll: what to turn to for so
// much wear in its deepest groove.
type Redress struct {
	GrooveWorn quantity.Micrometre // on diameter
	Stock      quantity.Micrometre
	Aim        quantity.Micrometre // diameter of the collars after it
	Left       quantity.Micrometre // above the scrap limit, below 0 where the cut goes past it
}

// redressSteps are the wears of the table, µm on diameter: what is read between
// them is turned as the next one.
var redressSteps = []quantity.Micrometre{250, 500, 750, 1000, 1250, 1500, 2000, 2500, 3000, 4000}

// RedressTable gives the cut for each depth of groove wear, by the same parts and
// margin as Advise. Nil for a plain barrel.
func RedressTable(in Input) []Redress {
	if !in.State.Roll.Grooved() {
		return nil
	}
	in.GrooveMeasured = true
	table := make([]Redress, len(redressSteps))
	for i, worn := range redressSteps {
		in.GrooveWorn = worn
		a := Advise(in)
		table[i] = Redress{GrooveWorn: worn, Stock: a.Stock, Aim: a.Aim, Left: a.Left}
	}
	return table
}

// grooveSource says where the groove wear is from.
func (in Input) grooveSource() string {
	if in.GrooveMeasured {
		return "as measured in the groove"
	}
	return "computed from the tonnes through it"
}
