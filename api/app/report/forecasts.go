package report

import (
	"cmp"
	"context"
	"runtime"
	"slices"
	"sync"
	"time"

	"barrelbook/api/app/gather"
	"barrelbook/api/app/plan"
	"barrelbook/api/app/port"
	"barrelbook/domain/mill"
	"barrelbook/domain/practice"
	"barrelbook/domain/quantity"
	"barrelbook/domain/roll"
	"barrelbook/domain/stockplan"
)

// forecastKept is how long the forecast of a roll whose book has not changed is
// given again; what other rolls have taught meanwhile is in it after that.
// forecastAgain is the age from which it is made anew by who calls KeepScrapDates
// each hour, so that nobody waits for all of them.
const (
	forecastKept  = 2 * time.Hour
	forecastAgain = 50 * time.Minute
)

// ForecastsBy is what forecasts are sorted by.
type ForecastsBy string

// The orders. Rolls without a date come last.
const (
	ByScrapDate ForecastsBy = "scrap_at"
	ByOrderDate ForecastsBy = "order_by"
	ByNumber    ForecastsBy = "roll"
)

// ForecastsInput asks for the scrap dates of many rolls. Empty fields stand for any.
type ForecastsInput struct {
	port.RollFilter
	By   ForecastsBy // defaults to ByScrapDate
	Most int         // 0 for all
}

// Forecasts are the scrap dates of rolls.
type Forecasts struct {
	AskedAt      time.Time
	Model        string
	RatesVersion int64
	Items        []RollScrap
	Left         int // rolls beyond the most asked for
}

// RollScrap is when one roll is scrapped and when another must be ordered.
type RollScrap struct {
	Roll         string
	Mill         string
	Role         mill.Role
	Grade        string
	Stage        roll.Stage
	Stand        string // where it is
	StockLeft    quantity.Micrometre
	ScrapAt      quantity.Micrometre
	LimitedBy    string
	AskedAt      time.Time
	Dates        bool
	P10          time.Time
	P50          time.Time
	P90          time.Time
	OrderBy      time.Time
	DeliveryDays float64
	Why          string // there are no dates
}

// keptScraps are forecasts by roll, to be given again.
type keptScraps struct {
	mu   sync.Mutex
	rows map[string]keptScrap
}

type keptScrap struct {
	version int64 // of the book
	at      time.Time
	roll    stockplan.Roll
	why     string
}

// ReportForecasts gives the scrap dates of the rolls that are not scrapped. A
// forecast is made anew when its roll's book has changed, and else at least once in
// two hours: each says when it was made. NotFound for an unknown mill.
func (a *Reporter) ReportForecasts(ctx context.Context, in ForecastsInput) (Forecasts, error) {
	return a.forecasts(ctx, in, forecastKept)
}

// KeepScrapDates makes those forecasts anew that are due, so that ReportForecasts
// finds them made.
func (a *Reporter) KeepScrapDates(ctx context.Context) error {
	_, err := a.forecasts(ctx, ForecastsInput{}, forecastAgain)
	return err
}

func (a *Reporter) forecasts(ctx context.Context, in ForecastsInput, kept time.Duration) (Forecasts, error) {
	k, err := a.learner.Known(ctx)
	if err != nil {
		return Forecasts{}, err
	}
	f := Forecasts{AskedAt: a.clock.Now(), Model: plan.ForecastModel, RatesVersion: k.Rates.Version}
	err = a.store.Read(ctx, func(r port.Reader) error {
		if in.Mill != "" {
			if _, err := r.Mill(in.Mill); err != nil {
				return err
			}
		}
		rows, err := port.Drain(func(p port.Page) ([]port.RollRow, string, error) { return r.Rolls(in.RollFilter, p) })
		if err != nil {
			return err
		}
		rows = slices.DeleteFunc(rows, func(row port.RollRow) bool { return row.State.Stage == roll.StageScrapped })
		o, err := plan.NewOutlook(r, k, f.AskedAt)
		if err != nil {
			return err
		}
		made := a.scraps.of(rows, f.AskedAt, kept, o.ScrapOf, r.Err)
		if err := r.Err(); err != nil {
			return err
		}
		for i, row := range rows {
			f.Items = append(f.Items, scrapOf(row.State, made[i], o.Practices))
		}
		return nil
	})
	f.order(in)
	return f, err
}

// of gives the forecasts of rolls, on as many processors as there are where they
// must be made. Those that were broken off are not kept.
func (c *keptScraps) of(rows []port.RollRow, now time.Time, keep time.Duration, forecast func(roll.State) (stockplan.Roll, float64, string), ended func() error) []keptScrap {
	made := make([]keptScrap, len(rows))
	var due []int
	c.mu.Lock()
	for i, row := range rows {
		k, there := c.rows[row.State.Roll.Number]
		if made[i] = k; !there || k.version != row.Version() || now.Sub(k.at) > keep || now.Before(k.at) {
			due = append(due, i)
		}
	}
	c.mu.Unlock()
	var wait sync.WaitGroup
	workers := runtime.GOMAXPROCS(0)
	for worker := range workers {
		wait.Go(func() {
			for at := worker; at < len(due); at += workers {
				i := due[at]
				one, _, why := forecast(rows[i].State)
				made[i] = keptScrap{version: rows[i].Version(), at: now, roll: one, why: why}
			}
		})
	}
	wait.Wait()
	if ended() != nil {
		return made
	}
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.rows == nil {
		c.rows = map[string]keptScrap{}
	}
	for _, i := range due {
		c.rows[rows[i].State.Roll.Number] = made[i]
	}
	return made
}

func scrapOf(s roll.State, k keptScrap, practices []practice.Practice) RollScrap {
	one := RollScrap{Roll: s.Roll.Number, Mill: s.Mill, Role: s.Roll.Role, Grade: s.Roll.Grade, Stage: s.Stage, Stand: s.Stand, StockLeft: s.StockLeft(), AskedAt: k.at, Why: k.why,
		DeliveryDays: practice.Resolve(practices, gather.CaseOf(s)).Number(practice.DeliveryDays)}
	one.ScrapAt, one.LimitedBy = s.ScrapLimit()
	if k.why == "" {
		one.Dates, one.P10, one.P50, one.P90 = true, k.roll.ScrapP10, k.roll.ScrapP50, k.roll.ScrapP90
		one.OrderBy = one.P10.Add(-time.Duration(one.DeliveryDays * 24 * float64(time.Hour)))
	}
	return one
}

// order sorts, and leaves out what is beyond the most asked for.
func (f *Forecasts) order(in ForecastsInput) {
	slices.SortStableFunc(f.Items, func(a, b RollScrap) int {
		first := 0
		switch {
		case in.By == ByNumber:
		case a.Dates != b.Dates:
			if first = 1; a.Dates {
				first = -1
			}
		case in.By == ByOrderDate:
			first = a.OrderBy.Compare(b.OrderBy)
		default:
			first = a.P50.Compare(b.P50)
		}
		return cmp.Or(first, cmp.Compare(a.Roll, b.Roll))
	})
	if in.Most > 0 && len(f.Items) > in.Most {
		f.Left = len(f.Items) - in.Most
		f.Items = f.Items[:in.Most]
	}
}
