package gather

import (
	"fmt"
	"time"

	"barrelbook/api/app/port"
	"barrelbook/domain/mill"
	"barrelbook/domain/practice"
	"barrelbook/domain/quantity"
	"barrelbook/domain/release"
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
	Fitness     release.Verdict // of both together
}

// Ready says whether the set could be mounted now: both rolls are released.
func (v SetView) Ready() bool {
	return v.BrokenAt.IsZero() && v.Stand == "" && v.Fitness.MayGoIn()
}

// ViewSet joins a set with its two rolls as they are at a moment.
func (s *Shop) ViewSet(row port.SetRow, top, bottom roll.State, at time.Time) (SetView, error) {
	v := SetView{SetRow: row, TopState: top, BottomState: bottom, Mismatch: roll.Mismatch(top, bottom), Tolerance: s.Practice(top).Micrometres(practice.PairToleranceUM)}
	if !row.BrokenAt.IsZero() {
		v.Fitness = release.Verdict{Word: release.NotFit, Reasons: []string{"the set was broken"}}
		return v, nil
	}
	above, err := s.Judge(top, &bottom, at)
	if err != nil {
		return SetView{}, err
	}
	below, err := s.Judge(bottom, &top, at)
	v.Fitness = release.Both(above, below, top.Roll.Number, bottom.Roll.Number)
	return v, err
}

// ReadSets joins sets with their rolls, as they are at a moment, in one read.
func (s *Shop) ReadSets(rows []port.SetRow, at time.Time) ([]SetView, error) {
	var numbers []string
	for _, row := range rows {
		numbers = append(numbers, row.Top, row.Bottom)
	}
	states, err := StatesOf(s.r, numbers)
	if err != nil {
		return nil, err
	}
	views := make([]SetView, len(rows))
	for i, row := range rows {
		if views[i], err = s.ViewSet(row, *states[row.Top], *states[row.Bottom], at); err != nil {
			return nil, err
		}
	}
	return views, nil
}
