package app_test

import (
	"testing"
	"time"

	"barrelbook/api/app/learn"
	"barrelbook/api/app/plan"
	"barrelbook/api/app/port"
	"barrelbook/api/app/record"
	"barrelbook/api/app/report"
	"barrelbook/domain/mill"
	"barrelbook/domain/roll"
)

// TestFinishAnswersAreScored asks of two stands whether their sets finish a
// campaign of 30 coils. One set does; the other is taken out for wear half way.
// Asked again in between, about a set in the shop, and of the past.
func TestFinishAnswersAreScored(t *testing.T) {
	t.Parallel()
	w := finishing(t)
	w.set("SPARE", mill.Work, 715, "F6")
	w.campaign("C1", 30, nil, "F5", "F6")
	w.finish(plan.FinishInput{Campaign: "C1", AskedBy: "planner"})
	w.rollCoils(1, 15, "F5", "F6")
	scores := func(count, open, void int) learn.ScoreReport {
		t.Helper()
		s, err := w.ReportScores(w.ctx, learn.ScoreInput{})
		w.must(err)
		if s.Finish.Count != count || s.Open != open || s.Void != void {
			t.Errorf("%d scored, %d open, %d void; want %d, %d, %d", s.Finish.Count, s.Open, s.Void, count, open, void)
		}
		return s
	}
	scores(0, 2, 0)
	w.finish(plan.FinishInput{Campaign: "C1", Stand: "F6", WithSet: "SPARE"})
	w.finish(plan.FinishInput{Campaign: "C1", AsOf: start}) // of the past: nothing to score
	scores(0, 2, 1)
	// F6's set comes out for wear half way.
	_, err := w.RecordChange(w.ctx, engineer, record.ChangeInput{Stand: "F6", Role: mill.Work, At: w.clock.now, SetIn: "SPARE", Why: roll.Wear})
	w.must(err)
	w.clock.now = w.clock.now.Add(time.Minute)
	// From piece 16 on with the sets as they are now.
	w.finish(plan.FinishInput{Campaign: "C1", FromPiece: 16})
	w.rollCoils(16, 15, "F5", "F6")
	s := scores(4, 0, 1)
	// F5 twice and SPARE finished, F6's first set did not.
	if s.Finish.BaseRate != 0.75 {
		t.Errorf("%.2f finished, want 3 of 4: %+v", s.Finish.BaseRate, s.Finish)
	}
	if again := scores(4, 0, 1); again.Finish != s.Finish {
		t.Error("settled twice")
	}
	one, err := w.ReportScores(w.ctx, learn.ScoreInput{Stand: "F6"})
	w.must(err)
	if one.Finish.Count != 2 || one.Finish.BaseRate != 0.5 {
		t.Errorf("at F6: %+v", one.Finish)
	}
	if _, err := w.ReportScores(w.ctx, learn.ScoreInput{From: w.clock.now.Add(time.Hour)}); !port.IsKind(err, port.Impossible) {
		t.Errorf("from the future: %v", err)
	}
}

// TestForecastsOfTheRest asks for what there is no forecast of.
func TestForecastsOfTheRest(t *testing.T) {
	t.Parallel()
	w := newWorks(t)
	w.stand("F5", 5)
	w.roll("OLD", mill.Work, 720)
	w.roll("NEW", mill.Work, 720)
	_, err := w.RecordHappening(w.ctx, engineer, record.Happening{Number: "OLD", At: w.clock.now, Body: roll.Scrapped{Why: roll.BySpall}, Reason: "spall"})
	w.must(err)
	if _, err := w.ForecastRoll(w.ctx, "OLD"); !port.IsKind(err, port.Conflicting) {
		t.Errorf("of a scrapped roll: %v", err)
	}
	if _, err := w.ForecastRoll(w.ctx, "NONE"); !port.IsKind(err, port.NotFound) {
		t.Errorf("of no roll: %v", err)
	}
	f, err := w.ForecastRoll(w.ctx, "NEW")
	w.must(err)
	if f.Life.Dates || !f.OrderBy.IsZero() || f.Change.Limit != "" || len(f.Notes) < 3 {
		t.Errorf("a new roll of a new mill: %+v", f)
	}
	// What was left on the roll that spalled is lost, not ground.
	answer, err := w.ReportConsumption(w.ctx, report.ConsumptionInput{By: "purpose"})
	w.must(err)
	if len(answer.Rows) != 1 || answer.Rows[0].Key != "scrapped" || answer.Rows[0].Lost != 80_000 || answer.Rows[0].Removed != 0 {
		t.Errorf("%+v", answer.Rows)
	}
}
