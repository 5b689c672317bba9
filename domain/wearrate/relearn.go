package wearrate

import (
	"cmp"
	"fmt"
	"slices"

	"barrelbook/domain/refusal"
	"barrelbook/domain/stop"
)

// Relearn replaces what was learned of one cell by what its campaigns now say,
// after a regrind or a correction, and touches no other. It takes all the
// campaigns of that cell and none of another; none at all removes it.
//
// The grade keeps the figures of the last full Learn, so the cell leans on them
// as they were; they move slowly, and the next full Learn brings them in. A
// grade not known before, or with no other cell, is learned in full.
// Refusals are those of Learn, and ask ends it as it does Learn.
func (r Rates) Relearn(at Cell, campaigns []Run, ask stop.Check) (Rates, error) {
	if err := check(campaigns, r.Defaults); err != nil {
		return Rates{}, err
	}
	if err := allOf(at, campaigns); err != nil {
		return Rates{}, err
	}
	out := r
	out.Cells = slices.DeleteFunc(slices.Clone(r.Cells), func(c CellRate) bool { return c.Cell == at })
	out.Rolls = slices.DeleteFunc(slices.Clone(r.Rolls), func(c RollRate) bool { return c.Cell == at })
	alone := !slices.ContainsFunc(out.Cells, func(c CellRate) bool { return c.Grade == at.Grade })
	if alone {
		out.Grades = slices.DeleteFunc(slices.Clone(r.Grades), func(g GradeRate) bool { return g.Grade == at.Grade })
	}
	cells, _, err := r.Defaults.group(campaigns, ask)
	if err != nil {
		return Rates{}, err
	}
	switch {
	case len(cells) == 0:
	case alone:
		if err := out.learnGrade(cells, ask); err != nil {
			return Rates{}, err
		}
	default:
		g, _ := r.grade(at.Grade)
		f, err := fit(cells[0].points, g.belief(r.Defaults), ask)
		if err != nil {
			return Rates{}, err
		}
		out.add(cells[0], f, g)
	}
	out.sort()
	return out, nil
}

// allOf refuses campaigns of another cell.
func allOf(at Cell, campaigns []Run) error {
	var c refusal.Check
	for i, e := range campaigns {
		if e.Cell != at {
			c.Add(fmt.Sprintf("campaigns/%d", i), e.Grade+" at "+e.Stand, "must be of "+at.Grade+" at "+at.Stand, "")
			break
		}
	}
	return c.Err()
}

// sort puts the lists in the order that Predict searches.
func (r *Rates) sort() {
	slices.SortFunc(r.Grades, func(a, b GradeRate) int { return cmp.Compare(a.Grade, b.Grade) })
	slices.SortFunc(r.Cells, func(a, b CellRate) int { return a.compare(b.Cell) })
	slices.SortFunc(r.Rolls, RollRate.compare)
}
