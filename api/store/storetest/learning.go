package storetest

import (
	"errors"
	"fmt"
	"strings"
	"testing"

	"barrelbook/api/app/port"
	"barrelbook/domain/duty"
	"barrelbook/domain/mill"
	"barrelbook/domain/quantity"
	"barrelbook/domain/roll"
	"barrelbook/domain/score"
	"barrelbook/domain/wearrate"
)

func ground(found, to quantity.Micrometre) roll.Reground {
	return roll.Reground{Found: found, FoundAsRead: found, Ground: to, For: roll.ForWear, GaugeUncertainty: 20, MaxPlausible: 8000}
}

// testGrinds follows the regrinds of a book through a late entry, a correction
// and a late piece.
func testGrinds(t *testing.T, s Store) {
	works(t, s)
	received(t, s, "W1", "W2")
	var stay int64
	write(t, s, func(w port.Writer) (err error) {
		if stay, err = w.OpenMounting(port.Stay{Roll: "W1", Stand: "F1", Position: mill.TopWork, MountedAt: hours(1)}); err != nil {
			return err
		}
		return errors.Join(w.AddUsage(map[int64]duty.Usage{stay: {TonnageT: 2000, RolledKM: 60, ExposureKM: 70.5, WearUM: []float64{1, 2}}}), w.MoveMounting(port.Stay{ID: stay, MountedAt: hours(1), WithdrawnAt: hours(4)}))
	})
	all := func(f port.GrindFilter) (rows []port.GrindRow) {
		read(t, s, func(r port.Reader) error {
			for p := (port.Page{Limit: 2}); ; {
				some, next, err := r.Grinds(f, p)
				rows = append(rows, some...)
				if p.After = next; next == "" || err != nil {
					return err
				}
			}
		})
		return rows
	}
	cut := func() (c port.GrindCut) {
		read(t, s, func(r port.Reader) (err error) { c, err = r.GrindCut(); return err })
		return c
	}
	same(t, "cut before the first", cut(), port.GrindCut{})
	entered := func(number string, at float64, b roll.Body) (row port.RollRow) {
		write(t, s, func(w port.Writer) (err error) { row, err = enter(w, number, hours(at), b); return err })
		return row
	}
	entered("W1", 4, ground(739_800, 739_500)) // at the moment of the withdrawal
	entered("W2", 6, ground(740_000, 739_400))
	last := entered("W1", 10, ground(739_400, 739_000))
	before := cut()
	rows := all(port.GrindFilter{})
	if len(rows) != 3 || before.Count != 3 || before.Newest != rows[2].ID || rows[0].Grade != "HCR" || rows[0].Role != mill.Work {
		t.Fatalf("cut %+v of %+v", before, rows)
	}
	use := port.StayUse{Stand: "F1", MountedAt: rows[0].Uses[0].MountedAt, WithdrawnAt: rows[0].Uses[0].WithdrawnAt, TonnageT: 2000, RolledKM: 60, ExposureKM: 70.5}
	same(t, "what the first ended", rows[0].Uses, []port.StayUse{use})
	if rows[0].Wear() != 200 || rows[0].Stock() != 300 || !rows[0].Since.Equal(day) || !rows[0].TeachesWear() || len(rows[2].Uses) != 0 || rows[2].LastGround != 739_500 {
		t.Errorf("%+v", rows)
	}
	same(t, "regrinds of the other roll", len(all(port.GrindFilter{Roll: "W2"})), 1)
	same(t, "regrinds in a period", len(all(port.GrindFilter{From: hours(4), Until: hours(6)})), 1)

	// Late: between the two of the roll, whose second one then starts elsewhere.
	entered("W1", 8, ground(739_450, 739_420))
	rows = all(port.GrindFilter{AfterID: before.Newest})
	if len(rows) != 3 || rows[2].LastGround != 739_420 || !rows[2].Since.Equal(hours(8)) || cut().Count != 4 {
		t.Errorf("after a late regrind: %+v", rows)
	}
	same(t, "the first keeps its stay", rows[0].Uses, []port.StayUse{use})

	// A correction withdraws it again, by number 4 of the book.
	entered("W1", 11, roll.Corrected{Entry: last.Version() + 1})
	if rows = all(port.GrindFilter{Roll: "W1"}); len(rows) != 2 || rows[1].LastGround != 739_500 || cut().Count != 3 {
		t.Errorf("after the correction: %+v", rows)
	}

	// A piece arrives after the regrind: it has a new id and says more.
	before = cut()
	write(t, s, func(w port.Writer) error {
		return w.AddUsage(map[int64]duty.Usage{stay: {TonnageT: 25, ExposureKM: 1}})
	})
	rows = all(port.GrindFilter{AfterID: before.Newest})
	if len(rows) != 1 || rows[0].Uses[0].TonnageT != 2025 || rows[0].Uses[0].ExposureKM != 71.5 || cut().Count != 3 {
		t.Errorf("after a late piece: %+v", rows)
	}
	// The stay is in no book, which must be all that is found.
	if err := s.Verify(t.Context()); err == nil || strings.Count(err.Error(), "\n") > 0 || !strings.Contains(err.Error(), "the book tells 0 stays in stands") {
		t.Error(err)
	}
}

func testWearRates(t *testing.T, s Store) {
	read(t, s, func(r port.Reader) error {
		_, err := r.WearRates()
		if !port.IsKind(err, port.NotFound) {
			t.Errorf("rates before the first: %v", err)
		}
		version, err := r.WearRatesVersion()
		if version != 0 {
			t.Errorf("version %d before the first", version)
		}
		return err
	})
	cell := wearrate.Cell{Grade: "HCR", Stand: "F1"}
	rates := port.WearRates{LearnedAt: hours(1).UTC(), Cut: port.GrindCut{Newest: 7, Count: 5}, Campaigns: 4,
		Mills: []port.MillRates{{Mill: "HSM", Role: mill.Work, Rates: wearrate.Rates{Defaults: wearrate.StandardDefaults(), SetAside: 3,
			Grades: []wearrate.GradeRate{{Grade: "HCR", RateUMPerKM: 2.4, RateSD: 0.3, StandCV: 0.2, RollCV: 0.1, NoiseUM: 11, ScatterCV: 0.04, SharedCV: 0.03, IncidentShare: 0.04, Cells: 1, Rolls: 2, Campaigns: 4,
				DiameterMM: 690, PerTenMM: 0.02, PerTenMMSD: 0.01, Force: 2.3, ForceMore: -0.1, ForceMoreSD: 0.05, Freshness: 0.2, FreshMore: 0.3, FreshMoreSD: 0.1}},
			Cells: []wearrate.CellRate{{Cell: cell, RateUMPerKM: 2.5, RateSD: 0.2, BetweenRollSD: 0.25, NoiseUM: 12, IncidentShare: 0.05, Rolls: 2, Campaigns: 4, Source: wearrate.FromGrade, DiameterMM: 700,
				Trouble: &wearrate.Trouble{Since: hours(1).UTC(), Campaigns: 3, Factor: 1.4, Low: 1.3, High: 1.5}}},
			Rolls: []wearrate.RollRate{{Roll: "W1", Cell: cell, RateUMPerKM: 2.6, RateSD: 0.1, Campaigns: 3, Incidents: 0.5, SharedSD: 0.05, DiameterMM: 700.5, Log: 0.1, LogSD: 0.04}}, Effects: []wearrate.RollEffect{{Roll: "W1", Log: 0.1, SD: 0.04}}, Spread: score.Spread{Answers: 12, Log: -0.05}}},
			{Mill: "HSM", Role: mill.Backup, Rates: wearrate.Rates{Defaults: wearrate.StandardDefaults()}}}}
	for v := int64(1); v <= 2; v++ {
		rates.Version, rates.LearnedAt = v, hours(float64(v)).UTC()
		write(t, s, func(w port.Writer) error { return w.CreateWearRates(rates) })
		refused(t, s, port.Conflicting, func(w port.Writer) error { return w.CreateWearRates(rates) })
	}
	// A third version changes one cell, adds one and leaves a role out.
	rates.Version, rates.LearnedAt = 3, hours(3).UTC()
	other := wearrate.Cell{Grade: "HCR", Stand: "F2"}
	rates.Mills[0].Cells = append(rates.Mills[0].Cells, wearrate.CellRate{Cell: other, RateUMPerKM: 4, Source: wearrate.FromCell})
	rates.Mills[0].Rolls[0].RateUMPerKM = 2.7
	rates.Mills = rates.Mills[:1]
	write(t, s, func(w port.Writer) error { return w.CreateWearRates(rates) })
	read(t, s, func(r port.Reader) error {
		got, err := r.WearRates()
		same(t, "rates in force", got, rates)
		version, err2 := r.WearRatesVersion()
		same(t, "version in force", version, int64(3))
		return errors.Join(err, err2)
	})
	// What was in force before the third: of the stands asked about.
	read(t, s, func(r port.Reader) error {
		of := port.RatesOf{Mill: "HSM", Role: mill.Work, Grade: "HCR", Stands: []string{"F1"}}
		if _, err := r.WearRatesThen(hours(0.9), of); !port.IsKind(err, port.NotFound) {
			t.Errorf("rates before the first: %v", err)
		}
		for at, want := range map[int]float64{2: 2.6, 3: 2.7} {
			got, err := r.WearRatesThen(hours(float64(at)+0.1), of)
			if err != nil {
				return err
			}
			if got.Version != int64(at) || len(got.Mills) != 1 || len(got.Mills[0].Cells) != 1 || len(got.Mills[0].Grades) != 1 || len(got.Mills[0].Rolls) != 1 || got.Mills[0].Rolls[0].RateUMPerKM != want {
				t.Errorf("at %d h: %+v, want a rate of %g", at, got, want)
			}
		}
		got, err := r.WearRatesThen(hours(9), port.RatesOf{Mill: "HSM", Role: mill.Work, Grade: "HCR"})
		if err == nil && len(got.Mills[0].Cells) != 0 {
			t.Errorf("cells of no stand: %+v", got.Mills)
		}
		return err
	})
}

func testForecasts(t *testing.T, s Store) {
	number := func(v float64) *float64 { return &v }
	rows := []port.ForecastRow{
		{Kind: port.ForecastFinish, About: "c1/F1", Stand: "F1", AskedAt: day.UTC(), AskedBy: "E. Planner", RatesVersion: 3, Probability: number(0.9), Input: `{"set":"S1"}`},
		{Kind: port.ForecastWear, About: "W1/4", Roll: "W1", Stand: "F2", Grade: "HCR", AskedAt: day.UTC(), Low: number(1), Middle: number(2), High: number(3), Input: "{}",
			Outcome: number(2.5), SettledAt: hours(2).UTC()},
		{Kind: port.ForecastScrap, About: "W1", Roll: "W1", AskedAt: day.UTC(), Low: number(1), Middle: number(2), High: number(3), Input: "{}"},
	}
	write(t, s, func(w port.Writer) error { return errors.Join(w.KeepForecasts(rows), w.KeepForecasts(nil)) })
	again := rows[0]
	again.Probability = number(0.1)
	write(t, s, func(w port.Writer) error { return w.KeepForecasts([]port.ForecastRow{again}) })
	list := func(f port.ForecastFilter) (got []port.ForecastRow) {
		read(t, s, func(r port.Reader) (err error) { got, _, err = r.Forecasts(f, port.Page{}); return err })
		return got
	}
	open := list(port.ForecastFilter{Open: true})
	if len(open) != 2 || open[0].ID == 0 {
		t.Fatalf("open: %+v", open)
	}
	rows[0].ID, rows[2].ID = open[0].ID, open[1].ID
	same(t, "open forecasts, the first kept", open, []port.ForecastRow{rows[0], rows[2]})
	write(t, s, func(w port.Writer) error {
		return errors.Join(w.SettleForecast(open[0].ID, number(1), hours(3), ""), w.SettleForecast(open[1].ID, nil, hours(3), "the roll broke"))
	})
	refused(t, s, port.Conflicting, func(w port.Writer) error { return w.SettleForecast(open[0].ID, number(0), hours(4), "") })
	for what, c := range map[string]struct {
		f    port.ForecastFilter
		want int
	}{
		"settled":          {port.ForecastFilter{}, 3},
		"of wear":          {port.ForecastFilter{Kind: port.ForecastWear}, 1},
		"of the grade":     {port.ForecastFilter{Grade: "HCR"}, 1},
		"of the stand":     {port.ForecastFilter{Stand: "F1"}, 1},
		"settled later":    {port.ForecastFilter{From: hours(2.5)}, 2},
		"open after all":   {port.ForecastFilter{Open: true}, 0},
		"of another stand": {port.ForecastFilter{Stand: "F9"}, 0},
	} {
		if got := list(c.f); len(got) != c.want {
			t.Errorf("%s: %s", what, fmt.Sprint(got))
		}
	}
	for _, got := range list(port.ForecastFilter{Kind: port.ForecastScrap}) {
		if got.Void != "the roll broke" || got.Outcome != nil || !got.SettledAt.Equal(hours(3)) {
			t.Errorf("a void one: %+v", got)
		}
	}
}
