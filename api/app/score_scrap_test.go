package app_test

import (
	"math"
	"testing"
	"time"

	"barrelbook/api/app/learn"
	"barrelbook/api/app/plan"
	"barrelbook/api/app/port"
	"barrelbook/api/app/record"
	"barrelbook/domain/mill"
	"barrelbook/domain/quantity"
	"barrelbook/domain/roll"
)

// TestScrapDatesAreScored lets two sets take turns in a stand, three days each and
// about 0.4 mm at each grind, and asks after 20 turns when rolls of both will be
// scrapped. Set A comes to its limit, and its months are held against those
// forecast; a roll of B is lost to a spall, which voids its forecast.
func TestScrapDatesAreScored(t *testing.T) {
	t.Parallel()
	w := newWorks(t)
	w.stand("F6", 6)
	at := map[string]quantity.Micrometre{"A": 653_000, "B": 663_000}
	for set, d := range at {
		w.set(set, mill.Work, d.MM(), "F6")
	}
	w.mount("F6", mill.Work, "A")
	var forecasts []plan.RollForecast
	in, out := "A", "B"
	scrapped := func(number string) bool { return w.view(number).State.Stage == roll.StageScrapped }
	turns := 0
	for ; !scrapped("A-T"); turns++ {
		w.pass(72 * time.Hour)
		in, out = out, in
		w.change(record.ChangeInput{Stand: "F6", Role: mill.Work, SetIn: in, StatedT: 2000, StatedKM: 60, StatedSpecificKNPerMM: 10})
		at[out] -= 400 + quantity.Micrometre(40*(turns/2%3-1))
		for i, end := range []string{"-T", "-B"} {
			one := grind(w.view(out+end).State.Diameter-180, at[out]-quantity.Micrometre(50*i))
			if one.Ground < 640_000 {
				one.Confirm = "the last of it"
			}
			_, err := w.RecordRegrind(w.ctx, engineer, out+end, one)
			w.must(err)
		}
		if turns == 20 {
			for _, number := range []string{"A-T", "A-B", "B-T"} {
				f, err := w.ForecastRoll(w.ctx, number)
				w.must(err)
				if !f.Life.Dates {
					t.Fatalf("no dates: %+v", f)
				}
				forecasts = append(forecasts, f)
			}
			// The service keeps one of each roll, however often it is asked to.
			for range 2 {
				_, err := w.KeepForecasts(w.ctx)
				w.must(err)
			}
			if s := w.scrapScore(4); s.Count != 0 {
				t.Errorf("%d scored before anything was scrapped", s.Count)
			}
		}
	}
	if !scrapped("A-B") || scrapped("B-T") {
		t.Fatalf("after %d turns A-B and B-T are %s and %s", turns, w.view("A-B").State.Stage, w.view("B-T").State.Stage)
	}
	// 13 mm are 32 grinds, one every six days; the last third is asked about.
	want := w.clock.now.Sub(forecasts[0].AskedAt).Hours() / 24 / (365.25 / 12)
	s := w.scrapScore(2)
	middle := forecasts[0].Life.Scrap.P50.Sub(forecasts[0].AskedAt).Hours() / 24 / (365.25 / 12)
	if s.Count != 2 || s.Within != 2 || math.Abs(s.Bias-(want-middle)) > 0.05 || s.Sharpness <= 0 {
		t.Errorf("%+v; it took %.2f months, %.2f were forecast", s, want, middle)
	}
	if math.Abs(want-middle) > 0.1*want {
		t.Errorf("scrapped after %.2f months, forecast %.2f", want, middle)
	}

	// B is lost while there is plenty left of it.
	w.pass(time.Hour)
	w.change(record.ChangeInput{Stand: "F6", Role: mill.Work, Why: roll.Mishap, StatedT: 500, StatedKM: 15, StatedSpecificKNPerMM: 10})
	w.breakSet("B")
	w.happens("B-T", "spall at the edge", roll.Scrapped{Why: roll.BySpall})
	answer, err := w.ReportScores(w.ctx, learn.ScoreInput{})
	w.must(err)
	if again := w.scrapScore(1); again != s || answer.Void != 1 {
		t.Errorf("%+v and %d void after the spall, want %+v and 1", again, answer.Void, s)
	}
}

// scrapScore is the score of scrap dates, with so many forecasts of them open.
func (w *works) scrapScore(open int) learn.IntervalScore {
	w.t.Helper()
	answer, err := w.ReportScores(w.ctx, learn.ScoreInput{})
	w.must(err)
	var still []port.ForecastRow
	w.must(w.store.Read(w.ctx, func(r port.Reader) (err error) {
		still, _, err = r.Forecasts(port.ForecastFilter{Open: true, Kind: port.ForecastScrap}, port.Page{Limit: 100})
		return err
	}))
	if len(still) != open {
		w.t.Errorf("%d scrap dates are open, want %d", len(still), open)
	}
	for _, one := range answer.Intervals {
		if one.Kind == port.ForecastScrap {
			return one
		}
	}
	w.t.Fatal("no score of scrap dates")
	return learn.IntervalScore{}
}
