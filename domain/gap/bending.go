package gap

import "barrelbook/domain/rollload"

// Bending is how much farther from the strip the work roll's axis lies in a
// solution than under the same load on the same rolls as ground: for Roll.AxisUM.
// solver is the one that the solution came from, load has the shapes as ground.
func Bending(solution rollload.Result, solver *rollload.Solver, load *rollload.Load) (rollload.Points, error) {
	axis := rollload.Points{XMM: append([]float64(nil), solution.StationXMM...), Value: append([]float64(nil), solution.StationAxisUM...)}
	fresh, err := solver.Solve(load)
	if err != nil {
		return rollload.Points{}, err
	}
	for i, before := range fresh.StationAxisUM {
		axis.Value[i] -= before
	}
	return axis, nil
}

// AxisUnder is the bending of the axis of one half of a stand under a load, with the rolls
// shaped as the load says and standing where the stack does.
func AxisUnder(stack rollload.Stack, load rollload.Load) (rollload.Points, error) {
	coefficients, err := rollload.NewCoefficients(stack, rollload.Options{})
	if err != nil {
		return rollload.Points{}, err
	}
	solver := rollload.NewSolver(coefficients)
	solution, err := solver.Solve(&load)
	if err != nil {
		return rollload.Points{}, err
	}
	load.Work, load.Intermediate, load.Backup = load.Work.AsGround(), load.Intermediate.AsGround(), load.Backup.AsGround()
	return Bending(solution, solver, &load)
}
