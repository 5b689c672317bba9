package changeplan_test

import (
	"testing"

	"barrelbook/domain/changeplan"
)

// TestLimitsThatAreStuckTogether: fatigue takes the set out before piece 1, and
// one that goes in there lasts no piece; each limit by itself could be kept. It
// panicked.
func TestLimitsThatAreStuckTogether(t *testing.T) {
	r, err := changeplan.Plan(changeplan.Problem{Pieces: 10, StopCost: 3.5, Stands: []changeplan.Stand{{Name: "F1", Limit: 12, StartUsage: 9, ChangeCost: 7.7, EndCostPerUnit: 2,
		Usage: []int64{1, 2, 1, 1, 3, 1, 2, 0, 0, 3}, Also: []changeplan.Criterion{{Name: "fatigue", Limit: 13, StartUsage: 7, Usage: []int64{6, 1, 0, 9, 7, 8, 5, 5, 9, 2}}},
		Reach: []int{6, 1, 1, 6, 6, 6, 8, 10, 10, 10, 10}, MustChange: []int{5}}}}, changeplan.Options{})
	if err != nil || len(r.Infeasible) != 1 || r.Infeasible[0].Stand != "F1" || r.Infeasible[0].Piece != 1 {
		t.Errorf("%+v %v, want F1 stuck at the piece of index 1", r, err)
	}
}
