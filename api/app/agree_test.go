package app_test

import (
	"fmt"
	"math/rand/v2"
	"strings"
	"testing"

	"barrelbook/api/app/plan"
	"barrelbook/api/app/port"
	"barrelbook/api/app/record"
	"barrelbook/domain/finish"
	"barrelbook/domain/mill"
	"barrelbook/domain/practice"
	"barrelbook/domain/roll"
)

// backUnground is a works with a set in F5 that rolled 40 coils, came out, and went
// back without a grind for 5 more, over a backup set that bore them all.
func backUnground(w *works) {
	w.t.Helper()
	w.practice("twice", practice.Scope{Mill: "hot"}, map[practice.Key]float64{practice.CampaignsBetweenGrind: 5, practice.CoolingH: 0, practice.StopCost: 1000, practice.PlannedStopCost: 1000})
	w.rollCoils(1, 40, "F5")
	w.change(record.ChangeInput{Stand: "F5", Role: mill.Work, SetIn: "NEXT"})
	w.rollCoils(41, 10, "F5")
	w.change(record.ChangeInput{Stand: "F5", Role: mill.Work, SetIn: "OLD"})
	w.rollCoils(51, 5, "F5")
	w.campaign("C", 60, nil, "F5")
}

// randomPractice draws limits of every kind, from far past to never reached. One
// piece of the programme is about 0.07 km of 20 t.
func randomPractice(r *rand.Rand) map[practice.Key]float64 {
	const pieces = 60
	values := map[practice.Key]float64{practice.FireCrackUMPerPiece: 28,
		practice.RoughnessScaleKM: 10, practice.FinishYesProbability: []float64{0.6, 0.8, 0.95, 0.99}[r.IntN(4)]}
	for _, of := range []struct {
		key  practice.Key
		full float64
	}{
		{practice.MaxCampaignT, 20 * pieces}, {practice.MaxCampaignKM, 0.07 * pieces}, {practice.MaxWearUM, 0.25 * pieces}, {practice.MaxPeakPressureMPa, 1100},
		{practice.MaxFireCrackUM, 28 * pieces}, {practice.MaxCampaignRevolutions, 31 * pieces}, {practice.MaxSameWidthKM, 0.03 * pieces}, {practice.MaxDamage, 0.02},
	} {
		if r.IntN(4) == 0 {
			values[of.key] = of.full * (0.05 + 3*r.Float64())
		}
	}
	return values
}

// TestPlanAndCheckAgreeOnTheBooks: from the books, on both databases, the plan
// keeps a set exactly as long as the finish check of the same moment is sure of
// it, whatever limits are entered.
func TestPlanAndCheckAgreeOnTheBooks(t *testing.T) {
	t.Parallel()
	both(t, "random practices", func(t *testing.T, w *works) {
		backUnground(w)
		tight, err := w.CreatePractice(w.ctx, engineer, practice.Practice{Name: "tight", Scope: practice.Scope{Mill: "hot", Stand: "F5"}, Values: map[practice.Key]float64{practice.StopCost: 1}})
		w.must(err)
		draw, tried := rand.New(rand.NewPCG(9, 5)), map[string]int{}
		for range 40 {
			tight.Values = randomPractice(draw)
			call := engineer
			call.IfVersion = tight.Version
			tight, err = w.ReplacePractice(w.ctx, call, tight)
			w.must(err)
			tried[agree(t, w, tight)]++
		}
		if tried["none"] < 3 || tried["at once"] < 3 || tried["within"] < 3 {
			t.Errorf("of 40 practices %v: the limits try too little", tried)
		}
	})
}

// agree holds the plan against the check and says where the set comes out.
func agree(t *testing.T, w *works, p practice.Practice) string {
	t.Helper()
	check := w.finish(plan.FinishInput{Campaign: "C", Stand: "F5"}).Stands[0]
	answer, err := w.PlanChanges(w.ctx, plan.PlanInput{Campaign: "C", Stands: []string{"F5"}, Confidence: p.Values[practice.FinishYesProbability]})
	w.must(err)
	said := fmt.Sprintf("practice %v; the check is sure of %d pieces: %s; the plan: %+v, cannot meet %q", p.Values, check.More.Pieces, check.Sentence, answer.Stops, answer.CannotMeet)
	if !answer.Feasible {
		// No fresh set can roll some piece: then the one now in cannot finish either.
		if check.Verdict == finish.Yes {
			t.Fatalf("the plan sees no way, the check is sure: %s", said)
		}
		return "never"
	}
	switch {
	case check.Verdict == finish.Yes:
		if len(answer.Stops) != 0 {
			t.Fatalf("the check is sure and the plan changes: %s", said)
		}
		return "none"
	case len(answer.Stops) == 0:
		t.Fatalf("the check is not sure and the plan sees no need: %s", said)
	case answer.Stops[0].BeforePiece != check.More.Pieces+1:
		t.Fatalf("the first change is before piece %d: %s", answer.Stops[0].BeforePiece, said)
	}
	if check.More.Pieces == 0 {
		return "at once"
	}
	return "within"
}

// TestThreeContradictions: a set put back without a grind, a pressure limit
// that is too low, and a roughness that is too low already. In each the check said
// no and the plan saw no need, or another one.
func TestThreeContradictions(t *testing.T) {
	t.Parallel()
	for name, c := range map[string]struct {
		values map[practice.Key]float64
		says   string
	}{
		"wear of before":                 {map[practice.Key]float64{practice.MaxWearUM: 8}, "wear limit"},
		"pressure":                       {map[practice.Key]float64{practice.MaxPeakPressureMPa: 700}, "700 MPa peak contact pressure"},
		"kilometres on one width before": {map[practice.Key]float64{practice.MaxSameWidthKM: 2}, "same-width limit"},
	} {
		t.Run(name, func(t *testing.T) {
			w := shop(t)
			backUnground(w)
			c.values[practice.FinishYesProbability] = 0.95
			p, err := w.CreatePractice(w.ctx, engineer, practice.Practice{Name: "tight", Scope: practice.Scope{Mill: "hot", Stand: "F5", Role: mill.Work}, Values: c.values})
			w.must(err)
			at := agree(t, w, p)
			check := w.finish(plan.FinishInput{Campaign: "C", Stand: "F5"}).Stands[0]
			if at == "none" || !strings.Contains(check.Sentence, c.says) {
				t.Errorf("changed %s; the check: %s", at, check.Sentence)
			}
		})
	}
}

// TestPlanSaysWhichSetDoesNotLast: a plan is made with fresh sets of one sort; a
// set of another grade that it has to put in, and that does not last as far as it
// is kept, is named.
func TestPlanSaysWhichSetDoesNotLast(t *testing.T) {
	t.Parallel()
	w := threeStands(t, func(*mill.Programme) {})
	_, err := w.CreateGrade(w.ctx, engineer, port.Grade{Name: "soft", Family: "forged_steel", Title: "Soft"})
	w.must(err)
	w.practice("short", practice.Scope{Mill: "hot", Stand: "F2", Role: mill.Work}, map[practice.Key]float64{practice.MaxCampaignT: 80, practice.StopCost: 1000, practice.PlannedStopCost: 1000})
	w.practice("soft", practice.Scope{Mill: "hot", Stand: "F2", Role: mill.Work, Grade: "soft"}, map[practice.Key]float64{practice.MaxCampaignT: 20})
	w.set("X", mill.Work, 720, "F2")
	for _, number := range []string{"Y-T", "Y-B"} {
		r := roll.Roll{Number: number, Role: mill.Work, Grade: "soft", NewDiameter: 720_000, BarrelLength: 1_780_000, BearingSpan: 2_800_000, NeckDiameter: 400_000, Scrap: roll.ScrapLimits{Nominal: 640_000}}
		_, err := w.ReceiveRoll(w.ctx, engineer, w.clock.now, roll.Received{Roll: r, Mill: "hot", Stands: []string{"F2"}, Diameter: r.NewDiameter, Ground: true})
		w.must(err)
	}
	_, err = w.BuildSet(w.ctx, engineer, record.SetInput{Name: "Y", At: w.clock.now, Top: "Y-T", Bottom: "Y-B"})
	w.must(err)
	answer, err := w.PlanChanges(w.ctx, plan.PlanInput{Campaign: "C", Stands: []string{"F2"}})
	w.must(err)
	said := strings.Join(answer.CannotMeet, "\n")
	if len(answer.Stops) != 2 || !strings.Contains(said, "F2: set Y, which goes in before piece") || !strings.Contains(said, "reaches the 20 t of its campaign") || strings.Contains(said, "set X") {
		t.Errorf("stops %+v, cannot meet %q; want Y named, which lasts one piece", answer.Stops, answer.CannotMeet)
	}
}
