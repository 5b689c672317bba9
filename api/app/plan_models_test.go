package app_test

import (
	"fmt"
	"strconv"
	"strings"
	"testing"

	"barrelbook/api/app/plan"
	"barrelbook/domain/mill"
	"barrelbook/domain/practice"
)

// TestPlanChangesForFatigue: fatigue over the mill's policy ends a campaign in the
// plan where it does in the finish check, not a piece later and hardly earlier.
func TestPlanChangesForFatigue(t *testing.T) {
	t.Parallel()
	const pieces = 60
	with := func(n int) *works {
		w := threeStands(t, func(p *mill.Programme) {
			p.Pieces = nil
			for i := range n {
				p.Pieces = append(p.Pieces, coil("A"+strconv.Itoa(i), 1200, "F1", "F2", "F3"))
			}
		})
		// A policy by which so short a programme counts.
		w.practice("fatigue", practice.Scope{Mill: "hot"}, map[practice.Key]float64{practice.FatigueReferenceTurns: 1e5})
		return w
	}
	w := with(pieces)
	used := 0.0
	for _, m := range w.finish(plan.FinishInput{Campaign: "C", Stand: "F2"}).Stands[0].Margins {
		if m.Criterion == "fatigue" && strings.HasPrefix(m.Roll, "W") {
			used = max(used, m.AtEnd)
		}
	}
	limit := map[practice.Key]float64{practice.MaxDamage: 0.55 * used, practice.StopCost: 1000, practice.PlannedStopCost: 1000}
	scope := practice.Scope{Mill: "hot", Stand: "F2", Role: mill.Work}
	w.practice("tight", scope, limit)
	w.set("SPARE", mill.Work, 720, "F2")
	answer, err := w.PlanChanges(w.ctx, plan.PlanInput{Campaign: "C", Stands: []string{"F2"}})
	w.must(err)
	if len(answer.Stops) == 0 {
		t.Fatalf("no change for a fatigue limit of 0.55 of what the programme adds: %+v", answer)
	}
	n := answer.Stops[0].BeforePiece - 1
	if n < pieces/4 || n > pieces-8 {
		t.Fatalf("the change comes after %d of %d pieces", n, pieces)
	}
	sure := func(n int) float64 {
		until := with(n)
		until.practice("tight", scope, limit)
		return until.finish(plan.FinishInput{Campaign: "C", Stand: "F2"}).Stands[0].Probability
	}
	if p := sure(n); p < 0.95 {
		t.Errorf("the plan keeps the set for %d pieces, of which the check is %.4f sure", n, p)
	}
	if p := sure(n + 3); p >= 0.95 {
		t.Errorf("of three pieces more than the %d of the plan the check is still %.4f sure", n, p)
	}
}

// TestPlanPredictsForces: without forces the plan predicts them, as the books and
// the finish check do, counts the wear and says what it hangs on.
func TestPlanPredictsForces(t *testing.T) {
	t.Parallel()
	w := threeStands(t, func(p *mill.Programme) {
		for i := range p.Pieces {
			for k := range p.Pieces[i].Passes {
				p.Pieces[i].Passes[k].ForceKN = 0
			}
		}
	})
	w.practice("tight", practice.Scope{Mill: "hot", Stand: "F2", Role: mill.Work}, map[practice.Key]float64{practice.MaxWearUM: 1})
	w.set("SPARE", mill.Work, 720, "F2")
	answer, err := w.PlanChanges(w.ctx, plan.PlanInput{Campaign: "C", Stands: []string{"F2"}})
	w.must(err)
	if len(answer.Stops) == 0 && len(answer.CannotMeet) == 0 {
		t.Errorf("a wear limit of 1 µm asks for no change: %+v", answer)
	}
	if notes := strings.Join(answer.Notes, "\n"); !strings.Contains(notes, "F2: 10 passes of the programme have no force: it is predicted") {
		t.Errorf("notes %q", notes)
	}
}

// BenchmarkPlan is a plan of seven stands and 240 pieces, database and all; the
// finish check of the same programme is beside it.
func BenchmarkPlan(b *testing.B) {
	w := newWorks(b)
	var stands []string
	for i := range 7 {
		s := fmt.Sprintf("F%d", i+1)
		stands = append(stands, s)
		w.stand(s, i+1)
		w.set("B"+s, mill.Backup, 1480)
		w.mount(s, mill.Backup, "B"+s)
		w.set("W"+s, mill.Work, 720-float64(i))
		w.mount(s, mill.Work, "W"+s)
		w.set("X"+s, mill.Work, 716-float64(i), s)
	}
	w.practice("limits", practice.Scope{Mill: "hot", Role: mill.Work}, map[practice.Key]float64{practice.MaxCampaignKM: 60, practice.MaxWearUM: 300})
	w.campaign("C", 240, []mill.PlannedStop{{BeforePiece: 121, Name: "shift", Minutes: 20}}, stands...)
	w.rollCoils(1, 50, stands...)
	b.Run("plan", func(b *testing.B) {
		for b.Loop() {
			answer, err := w.PlanChanges(w.ctx, plan.PlanInput{Campaign: "C"})
			if err != nil || !answer.Feasible {
				b.Fatal(answer.CannotMeet, err)
			}
		}
	})
	b.Run("finish check", func(b *testing.B) {
		for b.Loop() {
			if _, err := w.CheckFinish(w.ctx, plan.FinishInput{Campaign: "C"}); err != nil {
				b.Fatal(err)
			}
		}
	})
}

// TestPlanSaysWhatIsRolledOnColdRolls: a change in front of a demanding piece is
// told while the rolls that went in still warm, by the practice or by the
// programme's own marks.
func TestPlanSaysWhatIsRolledOnColdRolls(t *testing.T) {
	t.Parallel()
	planned := func(warmUp float64, mark map[int]mill.Demand) (change int, notes string) {
		w := threeStands(t, func(p *mill.Programme) {
			for i, d := range mark {
				p.Pieces[i-1].Demand = d
			}
		})
		w.practice("tight", practice.Scope{Mill: "hot", Stand: "F2", Role: mill.Work}, map[practice.Key]float64{practice.MaxCampaignT: 110, practice.WarmUpPieces: warmUp})
		w.set("SPARE", mill.Work, 720, "F2")
		answer, err := w.PlanChanges(w.ctx, plan.PlanInput{Campaign: "C", Stands: []string{"F2"}})
		w.must(err)
		if len(answer.Stops) == 0 {
			t.Fatalf("a limit of 110 t asks for no change: %+v", answer)
		}
		return answer.Stops[0].BeforePiece, strings.Join(answer.Notes, "\n")
	}
	n, notes := planned(3, nil)
	if n < 3 || n > 8 || strings.Contains(notes, "cold") {
		t.Fatalf("change before piece %d, notes %q", n, notes)
	}
	told := fmt.Sprintf("the change at F2 before piece %d leaves its rolls cold for piece %d", n, n+2)
	for name, c := range map[string]struct {
		warmUp float64
		mark   map[int]mill.Demand
		want   bool
	}{
		"within the practice's three":      {3, map[int]mill.Demand{n + 2: mill.Demanding}, true},
		"after the practice's two":         {2, map[int]mill.Demand{n + 2: mill.Demanding}, false},
		"no warm-up in practice":           {0, map[int]mill.Demand{n + 2: mill.Demanding}, false},
		"after the one the programme says": {3, map[int]mill.Demand{1: mill.WarmUp, n + 2: mill.Demanding}, false},
		"in front of the change":           {3, map[int]mill.Demand{n - 1: mill.Demanding}, false},
	} {
		if got, notes := planned(c.warmUp, c.mark); got != n || strings.Contains(notes, told) != c.want || strings.Contains(notes, "leaves its rolls cold") != c.want {
			t.Errorf("%s: change before %d, notes %q", name, got, notes)
		}
	}
}
