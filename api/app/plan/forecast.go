package plan

import (
	"context"
	"encoding/json"
	"math"
	"time"

	"barrelbook/api/app/gather"
	"barrelbook/api/app/learn"
	"barrelbook/api/app/port"
	"barrelbook/domain/forecast"
	"barrelbook/domain/limit"
	"barrelbook/domain/mill"
	"barrelbook/domain/next"
	"barrelbook/domain/practice"
	"barrelbook/domain/quantity"
	"barrelbook/domain/roll"
)

// ForecastModel names the models a forecast comes from.
const ForecastModel = "roll-forecast 2: learned wear rate, lattice of remaining stock by what grinds take, rhythm of the last weeks"

// RollForecast is what is ahead of a roll.
type RollForecast struct {
	Roll      string
	AskedAt   time.Time
	Model     string
	Grade     string
	Stand     string // whose rates and habits it is made with; empty for all of its grade
	Mounted   bool
	StockLeft quantity.Micrometre
	ScrapAt   quantity.Micrometre
	LimitedBy string
	Rate      *learn.WearRate // nil where the wear measured is taken
	Habit     string          // what the shop's habit was learned from
	Change    forecast.Change
	Life      forecast.Life
	OrderBy   time.Time // zero without dates
	Delivery  practice.Value
	// MonthAgo is the same forecast made from what was known then.
	MonthAgo *PastForecast
	Cautions []string
	Notes    []string

	mounting *port.Stay
	practice practice.InForce
	habit    forecast.Habit
}

// PastForecast is what would have been forecast at a past moment.
type PastForecast struct {
	At        time.Time
	StockLeft quantity.Micrometre
	Campaigns forecast.Quantiles
	Dates     bool
	Scrap     forecast.Dates
}

// ForecastRoll says what is ahead of a roll. Nothing is kept of it: what is asked
// often would be scored often. NotFound for an unknown roll; Conflicting for one that is scrapped or below
// its limit.
func (a *Planner) ForecastRoll(ctx context.Context, number string) (RollForecast, error) {
	k, err := a.learner.Known(ctx)
	if err != nil {
		return RollForecast{}, err
	}
	var f RollForecast
	err = a.store.Read(ctx, func(r port.Reader) error {
		row, err := r.Roll(number)
		if err != nil {
			return err
		}
		o, err := NewOutlook(r, k, a.clock.Now())
		if err != nil {
			return err
		}
		if f, err = o.roll(row); err != nil {
			return err
		}
		f.MonthAgo, err = o.monthAgo(row)
		return err
	})
	if err != nil {
		return RollForecast{}, err
	}
	return f, nil
}

// Ahead says what is ahead of rolls as a reader has them, without learning: how
// many campaigns are left and when a roll is scrapped, in the medians; nothing
// where none can be told.
func (a *Planner) Ahead(r port.Reader, now time.Time) (func(roll.State) (campaigns float64, scrap time.Time, err error), error) {
	k, err := a.learner.KnownIn(r)
	if err != nil {
		return nil, err
	}
	o, err := NewOutlook(r, k, now)
	if err != nil {
		return nil, err
	}
	return func(s roll.State) (campaigns float64, scrap time.Time, err error) {
		if mayForecast(s) != nil {
			return 0, scrap, nil
		}
		f, err := o.life(s)
		if port.IsKind(err, port.Conflicting) || port.IsKind(err, port.Impossible) {
			return 0, scrap, nil // nothing to tell it by
		}
		if f.Life.Dates {
			scrap = f.Life.Scrap.P50
		}
		return f.Life.Campaigns.P50, scrap, err
	}, nil
}

// roll forecasts one roll.
func (o *Outlook) roll(row port.RollRow) (RollForecast, error) {
	s := row.State
	if err := mayForecast(s); err != nil {
		return RollForecast{}, err
	}
	f, err := o.life(s)
	if err != nil {
		return f, err
	}
	f.Delivery = f.practice.Value(practice.DeliveryDays)
	if f.Life.Dates && !f.Life.Beyond {
		f.OrderBy = f.Life.Scrap.P10.Add(-time.Duration(f.Delivery.Number * 24 * float64(time.Hour)))
	}
	return f, o.change(&f, s)
}

func mayForecast(s roll.State) error {
	if s.Stage == roll.StageScrapped {
		return port.Fail(port.Conflicting, "roll %s is scrapped; there is nothing ahead of it", s.Roll.Number)
	}
	if s.StockLeft() < 0 {
		_, name := s.ScrapLimit()
		return port.FailNext(next.ScrapRoll(s.Roll.Number), port.Conflicting, "roll %s is %s below its limit (%s); scrap it", s.Roll.Number, -s.StockLeft(), name)
	}
	return nil
}

func groundAt(s roll.State) time.Time {
	if s.GroundAt.IsZero() {
		return s.ReceivedAt
	}
	return s.GroundAt
}

// change forecasts the end of the campaign the roll is in, or of its next.
func (o *Outlook) change(f *RollForecast, s roll.State) error {
	habit, name, rate := f.habit, f.Stand, f.Rate
	if s.Stand != "" && s.Stand != f.Stand {
		// The campaign is rolled where the roll is now, wherever it goes otherwise.
		habit, name, rate = o.habitIn(s, s.Stand), s.Stand, nil
	}
	stays, err := gather.StaysSinceGrind(o.r, s)
	if err != nil {
		return err
	}
	at := port.Stay{Roll: s.Roll.Number, Stand: name, Position: gather.PositionOf(s.Roll.Role, true), Diameter: s.Diameter}
	for i, m := range stays {
		if m.WithdrawnAt.IsZero() {
			f.mounting, at = &stays[i], m
		}
	}
	one, err := o.standing(s).Roll(at, o.stand(name))
	if err != nil {
		return err
	}
	p := practice.Resolve(o.Practices, gather.CaseIn(s, o.stand(name)))
	switch {
	case rate == nil && s.Stand == "":
		one.Rate.UmPerKmAt10 = 0 // in which stand it will wear is not known
	case rate != nil: // of all the stands it goes round
		one.Rate.UmPerKmAt10, one.SharedCV, one.OwnCV, one.RateSource = rate.UMPerKM, rate.SharedCV, rate.OwnCV, rate.Source
	}
	if s.Stage == roll.StageWorn && float64(s.CampaignsSinceGrind) >= p.Number(practice.CampaignsBetweenGrind) {
		one = one.AfterGrind() // it goes back ground
	}
	once := one.StayNow(p.Number(practice.WearRateUMPerKM))
	if once.TonnageT == 0 {
		once = habit.Campaign(&one, p.Number(practice.EdgeWearFactor))
	}
	in := forecast.ChangeInput{Now: o.now, In: f.Mounted, UsedT: one.Stay.TonnageT, UsedKM: one.Stay.RolledKM, Limits: limit.Again(&one, o.stand(name), once), OnceT: once.TonnageT, OnceKM: once.RolledKM,
		RateCV: math.Hypot(one.OwnCV, one.SharedCV), PastT: habit.CampaignT, PastKM: habit.CampaignKM, PerDay: habit.TonnagePerDay}
	if f.Mounted {
		ahead, err := o.programmeOf(o.MillOf[name])
		if err != nil {
			return err
		}
		in.Ahead = ahead.at(name)
	}
	f.Change, err = forecast.NextChange(in)
	f.Notes = append(f.Notes, f.Change.Notes...)
	return port.Refused(err)
}

// standing gathers how one roll stands.
func (o *Outlook) standing(s roll.State) *gather.Standing {
	now := gather.NewStanding(o.r, nil, learn.RatesIn(o.k.Rates), mill.Mill{Name: s.Mill}, &gather.Shop{Practices: o.Practices, Now: o.now})
	now.States[s.Roll.Number] = s
	return now
}

// jsonText writes a value that cannot fail to be written.
func jsonText(v any) string {
	text, err := json.Marshal(v)
	if err != nil {
		panic(err)
	}
	return string(text)
}
