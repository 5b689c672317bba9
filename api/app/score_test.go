package app_test

import (
	"fmt"
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

// TestFinishAnswersAreScored lets the service ask of two stands whether their sets
// finish a campaign of 30 coils, however often others ask. One set does; the other
// is taken out for wear half way.
func TestFinishAnswersAreScored(t *testing.T) {
	t.Parallel()
	w := finishing(t)
	w.set("SPARE", mill.Work, 715, "F6")
	w.campaign("C1", 30, nil, "F5", "F6")
	w.clock.now = w.clock.now.Add(time.Minute)
	asked := func(want int) {
		t.Helper()
		_, err := w.KeepForecasts(w.ctx)
		w.must(err)
		kept := 0
		for _, open := range []bool{true, false} {
			w.must(w.store.Read(w.ctx, func(r port.Reader) error {
				rows, _, err := r.Forecasts(port.ForecastFilter{Open: open, Kind: port.ForecastFinish}, port.Page{})
				kept += len(rows)
				return err
			}))
		}
		if kept != want {
			t.Errorf("%d finish answers are kept, want %d", kept, want)
		}
	}
	ask := func() { // records nothing
		w.finish(plan.FinishInput{Campaign: "C1"})
		w.finish(plan.FinishInput{Campaign: "C1", Stand: "F6", WithSet: "SPARE"})
		w.finish(plan.FinishInput{Campaign: "C1", AsOf: start})
	}
	scores := func(count int) learn.ScoreReport {
		t.Helper()
		s, err := w.ReportScores(w.ctx, learn.ScoreInput{})
		w.must(err)
		if s.Finish.Count != count {
			t.Errorf("%d scored, want %d", s.Finish.Count, count)
		}
		return s
	}
	ask()
	scores(0)
	asked(2)
	ask()
	asked(2) // the same stays
	scores(0)
	w.rollCoils(1, 15, "F5", "F6")
	asked(2)
	// F6's set comes out for wear half way.
	_, err := w.RecordChange(w.ctx, engineer, record.ChangeInput{Stand: "F6", Role: mill.Work, At: w.clock.now, SetIn: "SPARE", Why: roll.Wear})
	w.must(err)
	w.clock.now = w.clock.now.Add(time.Minute)
	w.finish(plan.FinishInput{Campaign: "C1", FromPiece: 16})
	asked(2) // it has begun: what SPARE has to finish is not the programme
	w.rollCoils(16, 15, "F5", "F6")
	s := scores(2)
	// F5's set finished, F6's did not.
	if s.Finish.BaseRate != 0.5 {
		t.Errorf("%.2f finished, want 1 of 2: %+v", s.Finish.BaseRate, s.Finish)
	}
	if again := scores(2); again.Finish != s.Finish {
		t.Error("settled twice")
	}
	one, err := w.ReportScores(w.ctx, learn.ScoreInput{Stand: "F6"})
	w.must(err)
	if one.Finish.Count != 1 || one.Finish.BaseRate != 0 {
		t.Errorf("at F6: %+v", one.Finish)
	}
	if _, err := w.ReportScores(w.ctx, learn.ScoreInput{From: w.clock.now.Add(time.Hour)}); !port.IsKind(err, port.Impossible) {
		t.Errorf("from the future: %v", err)
	}
}

// TestFinishIsAskedWhenItBegins: of programmes that lie ahead, are over or have
// begun, nothing is kept; of one about to begin, once for each stay.
func TestFinishIsAskedWhenItBegins(t *testing.T) {
	w := finishing(t)
	w.set("SPARE", mill.Work, 715, "F6")
	loaded := w.clock.now.Add(3 * time.Hour) // of a programme that begins then
	ahead := mill.Programme{Name: "C1", Mill: "hot", StartsAt: loaded}
	for i := range 30 {
		ahead.Pieces = append(ahead.Pieces, coil(fmt.Sprintf("A%03d", i+1), 1500, "F5", "F6"))
	}
	_, err := w.LoadCampaign(w.ctx, engineer, ahead)
	w.must(err)
	for _, c := range []struct {
		name string
		at   time.Duration
		want int
	}{{"two hours before", -2 * time.Hour, 0}, {"two days after", 48 * time.Hour, 0}, {"half an hour before", -30 * time.Minute, 2}, {"then", 0, 0}} {
		w.clock.now = loaded.Add(c.at)
		if made, err := w.KeepForecasts(w.ctx); err != nil || made != c.want {
			t.Errorf("%s: %d kept, %v, want %d", c.name, made, err, c.want)
		}
	}
	w.clock.now = loaded.Add(time.Minute)
	_, err = w.RecordChange(w.ctx, engineer, record.ChangeInput{Stand: "F6", Role: mill.Work, At: w.clock.now, SetIn: "SPARE"})
	w.must(err)
	w.clock.now = loaded.Add(2 * time.Minute)
	if made, err := w.KeepForecasts(w.ctx); err != nil || made != 1 {
		t.Errorf("after a change before it began: %d kept, %v, want 1", made, err)
	}
}

// TestFinishIsAskedWhenItIsLoaded: of a programme that begins at once the answer is
// kept without waiting for the hour; a dry run keeps none.
func TestFinishIsAskedWhenItIsLoaded(t *testing.T) {
	t.Parallel()
	w := finishing(t)
	dry := engineer
	dry.DryRun = true
	for _, call := range []port.Call{dry, engineer} {
		_, err := w.LoadCampaign(w.ctx, call, mill.Programme{Name: "C1", Mill: "hot", Pieces: []mill.Piece{coil("A1", 1500, "F5", "F6")}})
		w.must(err)
		w.must(w.store.Read(w.ctx, func(r port.Reader) error {
			rows, _, err := r.Forecasts(port.ForecastFilter{Open: true, Kind: port.ForecastFinish}, port.Page{})
			if want := map[bool]int{true: 0, false: 2}[call.DryRun]; len(rows) != want {
				t.Errorf("dry run %t: %d answers kept, want %d", call.DryRun, len(rows), want)
			}
			return err
		}))
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
