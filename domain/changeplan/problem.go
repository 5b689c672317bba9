// Package changeplan answers the second question of the shift: which stand is
// changed before which piece, which ready set goes in, and what each grinder
// must do so that the set is there.
//
// Plan finds the cheapest changes of a programme and proves it (problem.go
// says what is counted, search.go how), Assign places sets into the planned
// changes, Judge says what a set costs in a slot or why it may not go there,
// and Queue orders the grinders' work.
package changeplan

import "barrelbook/domain/stop"

// Problem is a programme of pieces and the stands that roll it.
//
// Costs are in any one unit (minutes of lost rolling, money) and need not be
// whole. With a stop cost q(j) before piece j, the cost of a plan is
//
//	Σ over stops j            q(j)
//	+ Σ over changes of s     ChangeCost + (Limit - usage at the change) · UnusedCostPerUnit
//	+ Σ over stands s         EndCostPerUnit · usage of s after the last piece
//
// q(j) is PlannedStopCost at the planned stops and StopCost elsewhere. It is
// charged once for a stop whatever the number of stands changed in it, and
// not at all where nothing is changed: a planned stop that nobody uses is
// made anyway and costs this plan nothing.
type Problem struct {
	// Pieces is the number K of pieces, at least 1.
	Pieces int
	// StopCost is charged for a stop made for changes alone, at least 0.
	StopCost float64
	// PlannedStopCost is charged for joining a stop that is made anyway, at
	// least 0. It may exceed StopCost.
	PlannedStopCost float64
	// PlannedStops are the pieces before which a stop is made anyway, from 0
	// (before the first piece) to K-1. A repeated number is one stop.
	PlannedStops []int
	// Stands roll every piece of the programme.
	Stands []Stand
}

// Stand is one place whose rolls wear. Usage, limit and start are in one
// integer unit of the caller's choice (metres, micrometres, kilograms), so
// that reaching the limit exactly is never a matter of rounding.
type Stand struct {
	Name string
	// Limit is the usage that the rolls may reach but not pass.
	Limit int64
	// StartUsage is what the mounted rolls have done already. Rolls that start
	// beyond the limit are changed before piece 0 with nothing unused.
	StartUsage int64
	// ChangeCost is charged for each change of this stand.
	ChangeCost float64
	// UnusedCostPerUnit is charged for each unit of life thrown away.
	UnusedCostPerUnit float64
	// EndCostPerUnit is charged for each unit of usage after the last piece.
	EndCostPerUnit float64
	// Usage is what each piece adds, K numbers of at least 0.
	Usage []int64
	// Also are further criteria that end a campaign; they carry no charge.
	Also []Criterion
	// Reach, where it is given, says outright up to which piece rolls may stay, in
	// place of what usage and limit say: for the rolls that are in, and then for
	// those that go in before piece 0, 1, … K-1, the first piece that they must not
	// roll, K where they last. It must not fall from one fresh set to the next.
	// Usage, Limit and StartUsage then only price what is unused, below 0 where
	// the limit is passed.
	Reach []int
	// MustChange are the pieces before which this stand has to be changed
	// whatever its usage, for instance because its backup rolls are changed
	// in that stop and the work rolls come out for it.
	MustChange []int
}

// Criterion is one more limit on the same rolls, such as fatigue beside wear.
type Criterion struct {
	Name       string
	Limit      int64
	StartUsage int64
	Usage      []int64
}

// Options bound the work of Plan.
type Options struct {
	// MaxLabels is the number of partial plans that the proof may look at.
	// Where it runs out the best plan known is returned with its gap.
	// Defaults to 1,000,000, at most 5,000,000, and never more than fit into 128 MiB:
	// from 20 stands on that is less.
	MaxLabels int
	// Stop ends the work early. Defaults to never.
	Stop stop.Check
}

// Result is the best plan found.
type Result struct {
	// Infeasible is not empty where no plan exists: each entry names a stand
	// and the first piece that alone exceeds its limit. Nothing is planned then.
	Infeasible []Misfit

	Cost float64
	// LowerBound is what every plan costs at least.
	LowerBound float64
	// Optimal says that no plan is cheaper, to the rounding of float64 sums
	// (1e-9 of the largest cost that enters).
	Optimal bool
	// Gap is (Cost - LowerBound) / Cost, 0 when optimal.
	Gap   float64
	Stops []Stop
	// The four parts of Cost.
	StopsCost, ChangesCost, UnusedCost, EndCost float64
	// Labels is the number of partial plans looked at.
	Labels int
}

// Stop is one interruption of the programme.
type Stop struct {
	BeforePiece int
	Planned     bool
	Cost        float64
	Changes     []Change
}

// Stands names the stands changed in the stop, in the problem's order.
func (s Stop) Stands() []string {
	names := make([]string, len(s.Changes))
	for i, c := range s.Changes {
		names[i] = c.Stand
	}
	return names
}

// Change is one stand's change in a stop.
type Change struct {
	Stand string
	// Usage is what the outgoing rolls have done, Unused what their limit
	// would still have allowed.
	Usage, Unused int64
	// Forced says that the next piece could not be rolled without it.
	Forced bool
	Cost   float64
}

// Misfit is a piece that no fresh set can roll.
type Misfit struct {
	Stand string
	// Criterion is empty for the stand's own limit.
	Criterion    string
	Piece        int
	Usage, Limit int64
}
