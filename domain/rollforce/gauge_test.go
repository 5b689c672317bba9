package rollforce_test

import (
	"errors"
	"testing"

	"barrelbook/domain/rollforce"
)

// Thin hard strip on large rolls has no flattened radius. The error carries
// the minimum gauge: just above it there is an answer, just below there is
// none.
func TestThinHardStripHasNoFlattenedRadius(t *testing.T) {
	for _, method := range []rollforce.Method{rollforce.Slipping, rollforce.BlandFord, rollforce.Hill, rollforce.Sims, rollforce.Sticking} {
		t.Run(string(method), func(t *testing.T) {
			in := pass(0.08, 0.05, 300, 1000)
			in.Method, in.MeanFlowStressMPa, in.Friction, in.Flatten = method, 900, 0.1, true
			_, err := rollforce.Predict(in)
			var none *rollforce.NoFlattenedRadiusError
			if !errors.As(err, &none) {
				t.Fatalf("want NoFlattenedRadiusError, got %v", err)
			}
			limit := none.MinimumExitThicknessMM
			if limit <= in.ExitThicknessMM {
				t.Fatalf("minimum gauge %g is not above the exit thickness %g", limit, in.ExitThicknessMM)
			}
			at := func(times float64) error {
				again := in
				again.ExitThicknessMM = limit * times
				again.EntryThicknessMM = again.ExitThicknessMM * in.EntryThicknessMM / in.ExitThicknessMM
				_, err := rollforce.Predict(again)
				return err
			}
			if err := at(1.0001); err != nil {
				t.Errorf("just above the minimum gauge %g: %v", limit, err)
			}
			if err := at(0.9999); !errors.As(err, &none) {
				t.Errorf("just below the minimum gauge %g: want NoFlattenedRadiusError, got %v", limit, err)
			}
		})
	}
}

// With slipping friction and a small draft the solver's own limit is
// Stone's minimum gauge (derived: friction hill and Hitchcock's equation).
func TestSolverFindsStonesMinimumGauge(t *testing.T) {
	const k = 800.0
	stone := rollforce.StoneMinimumGaugeMM(600, 0.08, k, 206000, 0.3)
	in := pass(stone/2, stone/2*(1-1e-3), 300, 1000)
	in.Method, in.MeanFlowStressMPa, in.Friction, in.Flatten = rollforce.Slipping, k*0.8660254037844386, 0.08, true
	_, err := rollforce.Predict(in)
	var none *rollforce.NoFlattenedRadiusError
	if !errors.As(err, &none) {
		t.Fatalf("at half of Stone's gauge %g: want NoFlattenedRadiusError, got %v", stone, err)
	}
	near(t, "minimum gauge, mm", none.MinimumExitThicknessMM, stone, 5e-3)
}
