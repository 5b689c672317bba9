package app_test

import (
	"math"
	"slices"
	"strconv"
	"strings"
	"testing"

	"barrelbook/api/app/plan"
	"barrelbook/api/app/record"
	"barrelbook/domain/finish"
	"barrelbook/domain/mill"
	"barrelbook/domain/practice"
	"barrelbook/domain/roll"
)

// threeStands is three four-high stands in rolls and a programme of ten coils.
func threeStands(t testing.TB, change func(*mill.Programme)) *works {
	w := newWorks(t)
	names := []string{"F1", "F2", "F3"}
	for i, name := range names {
		w.stand(name, i+1)
		w.set("W"+name, mill.Work, 720, name)
		w.set("B"+name, mill.Backup, 1480, name)
		w.mount(name, mill.Work, "W"+name)
		w.mount(name, mill.Backup, "B"+name)
	}
	p := mill.Programme{Name: "C", Mill: "hot"}
	for i := range 10 {
		p.Pieces = append(p.Pieces, coil("A"+string(rune('0'+i)), 1200, names...))
	}
	change(&p)
	_, err := w.LoadCampaign(w.ctx, engineer, p)
	w.must(err)
	return w
}

// A plan for one stand says nothing of those behind it.
func TestPlanOnlyTheStandsNamed(t *testing.T) {
	t.Parallel()
	w := threeStands(t, func(*mill.Programme) {})
	for _, c := range []struct{ asked, planned []string }{
		{nil, []string{"F1", "F2", "F3"}},
		{[]string{"F1"}, []string{"F1"}},
		{[]string{"F2"}, []string{"F2"}},
		{[]string{"F3", "F1"}, []string{"F1", "F3"}},
	} {
		answer, err := w.PlanChanges(w.ctx, plan.PlanInput{Campaign: "C", Stands: c.asked})
		w.must(err)
		if !slices.Equal(answer.WithoutChange, c.planned) || len(answer.Stops) != 0 {
			t.Errorf("asked for %v: %v need no change, stops %+v; want %v and none", c.asked, answer.WithoutChange, answer.Stops, c.planned)
		}
	}
}

// A piece that no set of the stand can roll is named once, in the plan and in the
// finish check alike.
func TestPieceThatNoSetCanRoll(t *testing.T) {
	t.Parallel()
	for name, c := range map[string]struct {
		change func(*mill.Piece)
		says   string
	}{
		"too wide":              {func(p *mill.Piece) { p.WidthMM, p.Passes[1].WidthMM = 1900, 1900 }, "piece 4 (A3): 1900 mm wide, does not lie on the barrel of"},
		"too much":              {func(p *mill.Piece) { p.Passes[1].ForceKN = 31000 }, "piece 4 (A3): force 31"},
		"not grooved":           {func(p *mill.Piece) { p.Passes[1].Groove = 2 }, "piece 4 (A3): asks for groove 2 and WF2-"},
		"off the mill's middle": {func(p *mill.Piece) { p.Passes[1].LateralOffsetMM = 500 }, "at 500 mm from the middle"},
	} {
		t.Run(name, func(t *testing.T) {
			w := threeStands(t, func(p *mill.Programme) { c.change(&p.Pieces[3]) })
			answer, err := w.PlanChanges(w.ctx, plan.PlanInput{Campaign: "C", Stands: []string{"F2"}})
			w.must(err)
			if answer.Feasible || len(answer.CannotMeet) != 1 || !strings.HasPrefix(answer.CannotMeet[0], "F2: piece 4 (A3): ") || !strings.Contains(answer.CannotMeet[0], c.says) {
				t.Errorf("feasible %t, cannot meet %q; want once %q", answer.Feasible, answer.CannotMeet, c.says)
			}
			a := w.finish(plan.FinishInput{Campaign: "C", Stand: "F2"})
			if s := a.Stands[0]; s.Verdict != finish.Blocked || !strings.Contains(s.Sentence, c.says) {
				t.Errorf("%s: %s; want blocked and %q", s.Verdict, s.Sentence, c.says)
			}
		})
	}
}

// A set that the finish check blocks comes out before the first piece: the rolls
// are held, owe a test after a mishap, or differ by more than the stand takes. In
// goes one that the stand takes; at a second change it is the one that comes out.
func TestPlanTakesOutASetThatMayNotRun(t *testing.T) {
	t.Parallel()
	for name, c := range map[string]struct {
		happens func(*works)
		says    string
	}{
		"held": {func(w *works) { w.happens("WF2-T", "spall seen", roll.Held{}) }, "the set in it may not run: WF2-T is held: spall seen"},
		"a test owed": {func(w *works) {
			_, err := w.RecordIncident(w.ctx, engineer, record.IncidentInput{Stand: "F2", What: roll.Cobble, At: w.clock.now})
			w.must(err)
		}, "(if the tests are passed before, it may stay)"},
		"a pair too far apart": {func(w *works) {
			w.practice("close", practice.Scope{Mill: "hot", Stand: "F2", Role: mill.Work}, map[practice.Key]float64{practice.PairToleranceUM: 40})
		}, "the set in it may not run: WF2-T: difference to its partner 50 µm is above the limit 40 µm"},
	} {
		t.Run(name, func(t *testing.T) {
			w := threeStands(t, func(*mill.Programme) {})
			w.set("FAR", mill.Work, 720, "F2")
			w.roll("NEAR-T", mill.Work, 719, "F2")
			w.roll("NEAR-B", mill.Work, 718.97, "F2")
			_, err := w.BuildSet(w.ctx, engineer, record.SetInput{Name: "NEAR", At: w.clock.now, Top: "NEAR-T", Bottom: "NEAR-B"})
			w.must(err)
			w.set("BSPARE", mill.Backup, 1480, "F2")
			c.happens(w)
			blocked := w.finish(plan.FinishInput{Campaign: "C", Stand: "F2"}).Stands[0]
			answer, err := w.PlanChanges(w.ctx, plan.PlanInput{Campaign: "C", Stands: []string{"F2"}})
			w.must(err)
			if blocked.Verdict != finish.Blocked || len(answer.Stops) == 0 || answer.Stops[0].BeforePiece != 1 {
				t.Fatalf("the check says %s: %s; the plan has stops %+v, want one before piece 1", blocked.Verdict, blocked.Sentence, answer.Stops)
			}
			out := answer.Stops[0].Changes[0]
			if out.SetOut != "WF2" || out.SetIn == "" || !strings.Contains(out.Why, c.says) {
				t.Errorf("%+v; want WF2 out and %q", out, c.says)
			}
			if name == "a pair too far apart" && out.SetIn != "NEAR" {
				t.Errorf("%s goes in, the pair of NEAR alone is close enough", out.SetIn)
			}
		})
	}
}

func TestASecondChangeTakesOutWhatTheFirstPutIn(t *testing.T) {
	t.Parallel()
	w := threeStands(t, func(p *mill.Programme) { p.Pieces = p.Pieces[:9] })
	w.practice("short", practice.Scope{Mill: "hot", Stand: "F2", Role: mill.Work}, map[practice.Key]float64{practice.MaxCampaignT: 60})
	w.set("X", mill.Work, 720, "F2")
	w.set("Y", mill.Work, 720, "F2")
	answer, err := w.PlanChanges(w.ctx, plan.PlanInput{Campaign: "C", Stands: []string{"F2"}})
	w.must(err)
	if len(answer.Stops) != 2 || answer.Stops[0].Changes[0].SetOut != "WF2" || answer.Stops[1].Changes[0].SetOut != answer.Stops[0].Changes[0].SetIn {
		t.Errorf("%+v; want two stops, the second taking out what the first put in", answer.Stops)
	}
}

// Up to the change that a plan makes for a limit the finish check is as sure as
// the plan was asked to be: both count the doubt of length, force and rate.
func TestPlanIsAsSureAsTheCheck(t *testing.T) {
	t.Parallel()
	for name, c := range map[string]struct {
		limit practice.Key
		share float64 // of what the programme uses up
	}{
		"kilometres": {practice.MaxCampaignKM, 0.55},
		"wear":       {practice.MaxWearUM, 0.7},
	} {
		t.Run(name, func(t *testing.T) {
			const pieces = 60
			long := func(n int) func(*mill.Programme) {
				return func(p *mill.Programme) {
					p.Pieces = nil
					for i := range n {
						p.Pieces = append(p.Pieces, coil("A"+strconv.Itoa(i), 1200, "F1", "F2", "F3"))
					}
				}
			}
			whole := threeStands(t, long(pieces))
			whole.practice("l", practice.Scope{Mill: "hot", Stand: "F2", Role: mill.Work}, map[practice.Key]float64{c.limit: 10_000})
			used := 0.0
			for _, m := range whole.finish(plan.FinishInput{Campaign: "C", Stand: "F2"}).Stands[0].Margins {
				if (m.Criterion == "campaign_km") == (c.limit == practice.MaxCampaignKM) && (m.Criterion == "campaign_km" || m.Criterion == "wear") && strings.HasPrefix(m.Roll, "W") {
					used = max(used, m.AtEnd)
				}
			}
			limit := map[practice.Key]float64{c.limit: math.Floor(c.share*used*100) / 100, practice.StopCost: 1000, practice.PlannedStopCost: 1000}
			whole.practice("tight", practice.Scope{Mill: "hot", Stand: "F2", Role: mill.Work, Grade: "steel"}, limit)
			whole.set("SPARE", mill.Work, 720, "F2")
			answer, err := whole.PlanChanges(whole.ctx, plan.PlanInput{Campaign: "C", Stands: []string{"F2"}})
			whole.must(err)
			if len(answer.Stops) == 0 {
				t.Fatalf("no change for %v of %.3f", limit, used)
			}
			n := answer.Stops[0].BeforePiece - 1
			if n < pieces/4 || n > pieces-5 {
				t.Fatalf("the change comes after %d of %d pieces: the limit %v of %.3f tries nothing", n, pieces, limit, used)
			}
			until := threeStands(t, long(n))
			until.practice("tight", practice.Scope{Mill: "hot", Stand: "F2", Role: mill.Work, Grade: "steel"}, limit)
			if s := until.finish(plan.FinishInput{Campaign: "C", Stand: "F2"}).Stands[0]; s.Probability < 0.95 {
				t.Errorf("the plan keeps the set for %d pieces, of which the check is %.4f sure: %s", n, s.Probability, s.Sentence)
			}
		})
	}
}
