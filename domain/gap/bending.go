package gap

import "barrelbook/domain/rollload"

// Bending is how much farther from the strip the work roll's axis lies in a
// solution than under the same load on the rolls as ground and unshifted: for
// Roll.AxisUM. load has the shapes as ground; ground is the solver of the stack
// unshifted, which may be the one that the solution came from.
func Bending(solution rollload.Result, ground *rollload.Solver, load *rollload.Load) (rollload.Points, error) {
	axis := rollload.Points{XMM: append([]float64(nil), solution.StationXMM...), Value: append([]float64(nil), solution.StationAxisUM...)}
	fresh, err := ground.Solve(load)
	if err != nil {
		return rollload.Points{}, err
	}
	before := rollload.Points{XMM: fresh.StationXMM, Value: fresh.StationAxisUM}
	for i, x := range axis.XMM {
		axis.Value[i] -= before.At(x)
	}
	return axis, nil
}

// AxisUnder is the bending of the axis of one half of a stand under a load, with the rolls
// shaped as the load says and standing where the stack does.
func AxisUnder(stack rollload.Stack, load rollload.Load) (rollload.Points, error) {
	now, err := rollload.NewCoefficients(stack, rollload.Options{})
	if err != nil {
		return rollload.Points{}, err
	}
	stack.Work.AxialOffsetMM, stack.Intermediate.AxialOffsetMM, stack.Backup.AxialOffsetMM = 0, 0, 0
	before, err := rollload.NewCoefficients(stack, rollload.Options{})
	if err != nil {
		return rollload.Points{}, err
	}
	solution, err := rollload.NewSolver(now).Solve(&load)
	if err != nil {
		return rollload.Points{}, err
	}
	load.Work, load.Intermediate, load.Backup = load.Work.AsGround(), load.Intermediate.AsGround(), load.Backup.AsGround()
	return Bending(solution, rollload.NewSolver(before), &load)
}
