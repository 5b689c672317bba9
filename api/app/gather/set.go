package gather

import (
	"fmt"
	"time"

	"barrelbook/api/app/port"
	"barrelbook/domain/mill"
	"barrelbook/domain/practice"
	"barrelbook/domain/quantity"
	"barrelbook/domain/roll"
)

// PositionOf is the place of the top or the bottom roll of a set.
func PositionOf(r mill.Role, top bool) mill.Position {
	above, below := mill.PairPositions(r)
	if top {
		return above
	}
	return below
}

// Misfit says why a set's rolls do not belong in the stand at all, empty when
// they do.
func Misfit(v SetView, stand mill.Stand) string {
	switch {
	case !stand.Arrangement.Takes(v.Role):
		return fmt.Sprintf("is of %s rolls, and %s has no place for them", v.Role, stand.Name)
	case !v.TopState.Serves(stand):
		return fmt.Sprintf("does not serve %s (roll %s)", stand.Name, v.Top)
	case !v.BottomState.Serves(stand):
		return fmt.Sprintf("does not serve %s (roll %s)", stand.Name, v.Bottom)
	}
	return ""
}

// SetView is a set with its two rolls as they are now.
type SetView struct {
	port.SetRow
	TopState    roll.State
	BottomState roll.State
	Mismatch    quantity.Micrometre
	Tolerance   quantity.Micrometre
	Fitness     roll.Fitness // of both together
}

// Ready says whether the set could be mounted now.
func (v SetView) Ready() bool {
	return v.BrokenAt.IsZero() && v.Stand == "" && v.Fitness.Verdict == roll.Fit
}

// ViewSet joins a set with its two rolls.
func ViewSet(row port.SetRow, top, bottom roll.State, practices []practice.Practice, now time.Time) SetView {
	p := practice.Resolve(practices, CaseOf(top))
	v := SetView{SetRow: row, TopState: top, BottomState: bottom, Mismatch: roll.Mismatch(top, bottom), Tolerance: p.Micrometres(practice.PairToleranceUM)}
	if !row.BrokenAt.IsZero() {
		v.Fitness = roll.Fitness{Verdict: roll.NotFit, Reasons: []string{"the set was broken"}}
		return v
	}
	v.Fitness = bothFit(roll.Assess(top, &bottom, p, now), roll.Assess(bottom, &top, practice.Resolve(practices, CaseOf(bottom)), now), top, bottom)
	return v
}

// bothFit joins the fitness of two rolls: the worse verdict rules.
func bothFit(a, b roll.Fitness, top, bottom roll.State) roll.Fitness {
	rank := map[roll.Verdict]int{roll.Fit: 0, roll.FitnessUnknown: 1, roll.NotFit: 2}
	joined := roll.Fitness{Verdict: a.Verdict}
	if rank[b.Verdict] > rank[a.Verdict] {
		joined.Verdict = b.Verdict
	}
	for _, one := range []struct {
		number string
		f      roll.Fitness
	}{{top.Roll.Number, a}, {bottom.Roll.Number, b}} {
		for _, reason := range one.f.Reasons {
			joined.Reasons = append(joined.Reasons, one.number+": "+reason)
		}
		for _, next := range one.f.Next {
			joined.Next = append(joined.Next, one.number+": "+next)
		}
	}
	return joined
}

// ReadSet joins one set with its rolls.
func ReadSet(r port.Reader, row port.SetRow, now time.Time) (SetView, error) {
	practices, err := AllPractices(r)
	if err != nil {
		return SetView{}, err
	}
	views, err := ReadSets(r, []port.SetRow{row}, practices, now)
	if err != nil {
		return SetView{}, err
	}
	return views[0], nil
}

// ReadSets joins sets with their rolls in one read.
func ReadSets(r port.Reader, rows []port.SetRow, practices []practice.Practice, now time.Time) ([]SetView, error) {
	var numbers []string
	for _, row := range rows {
		numbers = append(numbers, row.Top, row.Bottom)
	}
	states, err := StatesOf(r, numbers)
	if err != nil {
		return nil, err
	}
	views := make([]SetView, len(rows))
	for i, row := range rows {
		views[i] = ViewSet(row, *states[row.Top], *states[row.Bottom], practices, now)
	}
	return views, nil
}
