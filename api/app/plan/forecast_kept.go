package plan

import (
	"context"
	"errors"
	"time"

	"barrelbook/api/app/learn"
	"barrelbook/api/app/port"
	"barrelbook/domain/roll"
)

// keptBy signs the forecasts that the service makes for itself.
const keptBy = "service"

// KeepForecasts makes forecasts of the rolls in the stands and of those ground
// within a day, one of a kind for each roll and day, and of whether the sets in the
// stands finish the programme about to begin, one for each programme, stand and
// stay: to be scored when their outcome is known, however often it is called and by
// however many processes. It gives how many it made.
func (a *Planner) KeepForecasts(ctx context.Context) (made int, err error) {
	now := a.clock.Now()
	if err := a.learner.Settle(ctx, now, port.ForecastFinish); err != nil {
		return 0, err
	}
	kept, err := a.rollForecasts(ctx, now)
	if err != nil {
		return 0, err
	}
	ofFinish, err := a.finishForecasts(ctx, now)
	if kept = append(kept, ofFinish...); err != nil || len(kept) == 0 {
		return 0, err
	}
	return len(kept), a.store.Write(ctx, func(w port.Writer) error { return w.KeepForecasts(kept) })
}

// KeepFinishAnswers makes those of KeepForecasts that are about a programme about to
// begin, and settles those that are open.
func (a *Planner) KeepFinishAnswers(ctx context.Context) error {
	now := a.clock.Now()
	if err := a.learner.Settle(ctx, now, port.ForecastFinish); err != nil {
		return err
	}
	kept, err := a.finishForecasts(ctx, now)
	if err != nil || len(kept) == 0 {
		return err
	}
	return a.store.Write(ctx, func(w port.Writer) error { return w.KeepForecasts(kept) })
}

// rollForecasts are those of the day that are not there.
func (a *Planner) rollForecasts(ctx context.Context, now time.Time) (kept []port.ForecastRow, err error) {
	due, err := a.dueForecasts(ctx, now)
	if err != nil || len(due) == 0 {
		return nil, err
	}
	k, err := a.learner.Known(ctx)
	if err != nil {
		return nil, err
	}
	err = a.store.Read(ctx, func(r port.Reader) error {
		o, err := NewOutlook(r, k, now)
		if err != nil {
			return err
		}
		for _, row := range due {
			if err := ctx.Err(); err != nil {
				return err
			}
			f, err := o.roll(row)
			var cannot *port.Error
			if errors.As(err, &cannot) {
				continue // there is nothing ahead of it
			}
			if err != nil {
				return err
			}
			kept = append(kept, f.kept()...)
		}
		return nil
	})
	return kept, err
}

// dueForecasts are the rolls that have none of the day.
func (a *Planner) dueForecasts(ctx context.Context, now time.Time) (due []port.RollRow, err error) {
	err = a.store.Read(ctx, func(r port.Reader) error {
		rows, err := port.Drain(func(p port.Page) ([]port.RollRow, string, error) { return r.Rolls(port.RollFilter{}, p) })
		if err != nil {
			return err
		}
		for _, row := range rows {
			kind := port.ForecastScrap
			switch s := row.State; {
			case s.Stage == roll.StageMounted:
				kind = port.ForecastChange
			case s.Stage == roll.StageScrapped || now.Sub(s.GroundAt) > 24*time.Hour:
				continue
			}
			kept, err := r.ForecastKept(kind, aboutDay(row.State.Roll.Number, now))
			if err != nil {
				return err
			}
			if !kept {
				due = append(due, row)
			}
		}
		return nil
	})
	return due, err
}

// aboutDay names a roll and a day.
func aboutDay(number string, at time.Time) string {
	return number + "/" + at.UTC().Format(time.DateOnly)
}

// scrapBasis is what a kept forecast of the scrap date was made from.
type scrapBasis struct {
	StockMM float64 `json:"stock_mm"`
	Habit   string  `json:"habit"`
}

// kept is the forecast as it is scored later.
func (f RollForecast) kept() []port.ForecastRow {
	base := port.ForecastRow{Roll: f.Roll, Stand: f.Stand, Grade: f.Grade, AskedAt: f.AskedAt, AskedBy: keptBy,
		About: aboutDay(f.Roll, f.AskedAt)}
	if f.Rate != nil {
		base.RatesVersion = f.Rate.Version
	}
	var rows []port.ForecastRow
	if f.mounting != nil && f.Change.Limit != "" {
		row, q := base, f.Change.TonnageT
		used := f.mounting.Usage.TonnageT
		row.Kind = port.ForecastChange
		row.Low, row.Middle, row.High = new(used+q.P5), new(used+q.P50), new(used+q.P95)
		row.Input = jsonText(learn.ChangeBasis{MountedAt: f.mounting.MountedAt, UsedT: used, Limit: f.Change.Limit})
		rows = append(rows, row)
	}
	if f.Life.Dates {
		row, d := base, f.Life.Scrap
		row.Kind = port.ForecastScrap
		row.Low, row.Middle, row.High = new(learn.MonthsUntil(f.AskedAt, d.P5)), new(learn.MonthsUntil(f.AskedAt, d.P50)), new(learn.MonthsUntil(f.AskedAt, d.P95))
		row.Input = jsonText(scrapBasis{f.StockLeft.MM(), f.Habit})
		rows = append(rows, row)
	}
	return rows
}
