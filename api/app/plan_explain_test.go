package app_test

import (
	"strings"
	"testing"

	"barrelbook/api/app/plan"
	"barrelbook/domain/mill"
)

// TestPlanExplains: asked for, a plan names each place's limits and rate with
// where they come from; not asked for, it does not.
func TestPlanExplains(t *testing.T) {
	t.Parallel()
	w := threeStands(t, func(*mill.Programme) {})
	for _, asked := range []bool{false, true} {
		answer, err := w.PlanChanges(w.ctx, plan.PlanInput{Campaign: "C", Explain: asked})
		w.must(err)
		named := 0
		for _, note := range answer.Notes {
			if strings.HasPrefix(note, "F2: ") && strings.Contains(note, "deepest wear 400 µm (") && strings.Contains(note, "µm/km at 10 kN/mm (") {
				named++
			}
		}
		if (named == 1) != asked {
			t.Errorf("explain %v: F2 is explained %d times in %q", asked, named, answer.Notes)
		}
	}
}
