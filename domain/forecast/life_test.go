package forecast_test

import (
	"strings"
	"testing"
	"time"

	"barrelbook/domain/forecast"
	"barrelbook/domain/mill"
	"barrelbook/domain/refusal"
	"barrelbook/domain/score"
)

// Twenty works of 48 rolls, forecast after one year from what their regrinds
// taught, and then run to the end of every roll: P10 to P90 of the scrap date are
// to hold 0.75 to 0.85 of the dates that came, of the grinds likewise and more,
// as they are whole numbers, and the medians are to lie in the middle.
func TestScrapDatesCover(t *testing.T) {
	for _, years := range []int{1, 2} {
		var dates, grinds []score.Interval
		later := 0
		for seed := range uint64(20) {
			day := simStart.AddDate(years, 0, 0)
			list, err := outlooks(seed, day)
			if err != nil {
				t.Fatal(err)
			}
			for _, o := range list {
				days := func(at time.Time) float64 { return at.Sub(day).Hours() / 24 }
				s := o.forecast.Scrap
				dates = append(dates, score.Interval{Low: days(s.P10), Middle: days(s.P50), High: days(s.P90), Outcome: days(o.scrapped)})
				g := o.forecast.Grinds
				grinds = append(grinds, score.Interval{Low: g.P10, Middle: g.P50, High: g.P90, Outcome: o.grinds})
				if o.scrapped.After(s.P50) {
					later++
				}
			}
		}
		d, err := score.Intervals(dates)
		if err != nil {
			t.Fatal(err)
		}
		g, err := score.Intervals(grinds)
		if err != nil {
			t.Fatal(err)
		}
		t.Logf("after %d years, %d rolls: scrap date within P10–P90 %.3f (%.3f to %.3f), off by %.1f ± %.1f d, %.0f d wide, later than P50 %.3f; grinds %.3f, off by %.2f ± %.2f",
			years, d.Count, d.Coverage, d.CoverageLow, d.CoverageHigh, d.Bias, d.BiasSE, d.Sharpness, float64(later)/float64(d.Count), g.Coverage, g.Bias, g.BiasSE)
		if d.Coverage < 0.75 || d.Coverage > 0.85 {
			t.Errorf("after %d years P10 to P90 hold %.3f of %d scrap dates, want 0.75 to 0.85", years, d.Coverage, d.Count)
		}
	}
}

func TestRemainingFallsBackAndSaysSo(t *testing.T) {
	habits := forecast.LearnHabits(nil, forecast.Defaults{NormalStockUM: 400})
	now := simStart
	in := forecast.LifeInput{Stock: 40_000, Habit: habits.Of("hss", "F1", mill.Work), LastGrind: now, Now: now}
	f, err := forecast.Remaining(in, nil)
	if err != nil {
		t.Fatal(err)
	}
	if f.Dates || len(f.Notes) != 3 || f.Grinds.P10 > f.Grinds.P50 || f.Grinds.P50 < 60 || f.Grinds.P50 > 100 {
		t.Errorf("without a regrind: %+v", f)
	}
	in.Stock = -1
	if _, err := forecast.Remaining(in, nil); len(refusal.FieldsOf(err)) != 1 {
		t.Errorf("below the limit: %v", err)
	}
	in.Stock = 0
	if f, err = forecast.Remaining(in, nil); err != nil || f.Grinds.P95 != 1 {
		t.Errorf("at the limit: %+v, %v", f, err)
	}
}

// TestNothingTakenOffIsNoNumber: where no cycle is known and the practice takes
// nothing off, the answer says so and has no figure that is none.
func TestNothingTakenOffIsNoNumber(t *testing.T) {
	l, err := forecast.Remaining(forecast.LifeInput{Stock: 60_000, Now: time.Date(2026, 3, 4, 0, 0, 0, 0, time.UTC)}, nil)
	if err != nil {
		t.Fatal(err)
	}
	if l.Grinds != (forecast.Quantiles{}) || l.Campaigns != (forecast.Quantiles{}) || l.Dates || !strings.Contains(strings.Join(l.Notes, "; "), "how many grinds are left is not known") {
		t.Errorf("%+v", l)
	}
}
