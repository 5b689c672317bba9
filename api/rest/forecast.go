package rest

import (
	"context"
	"time"

	"barrelbook/api/app/plan"
	"barrelbook/api/oapi"
	"barrelbook/domain/forecast"
)

// ForecastRoll says what is ahead of a roll.
func (s *Server) ForecastRoll(ctx context.Context, r oapi.ForecastRollRequestObject) (oapi.ForecastRollResponseObject, error) {
	f, err := s.app.ForecastRoll(ctx, r.Roll)
	if err != nil {
		return nil, err
	}
	return oapi.ForecastRoll200JSONResponse(rollForecastToWire(f)), nil
}

func rollForecastToWire(f plan.RollForecast) oapi.RollForecast {
	w := oapi.RollForecast{
		Roll: f.Roll, AskedAt: f.AskedAt.UTC(), Model: f.Model, Grade: f.Grade, Stand: optional(f.Stand), Mounted: f.Mounted, StockLeftMm: f.StockLeft.MM(),
		ScrapMm: f.ScrapAt.MM(), ScrapLimit: f.LimitedBy, Habit: f.Habit, NextChange: changeForecastToWire(f.Change), Remaining: lifeToWire(f.Life), OrderBy: when(f.OrderBy),
		DeliveryDays: f.Delivery.Number, DeliverySource: f.Delivery.Source, Cautions: list(f.Cautions), Notes: list(f.Notes),
	}
	if f.Rate != nil {
		w.WearRate = &oapi.WearRateInForce{RateUmPerKm: f.Rate.UMPerKM, RateSd: f.Rate.SD, SharedCv: f.Rate.SharedCV, OwnCv: f.Rate.OwnCV,
			NoiseUm: optional(f.Rate.NoiseUM), RatesVersion: optional(f.Rate.Version), Source: f.Rate.Source}
	}
	if p := f.MonthAgo; p != nil {
		w.MonthAgo = &oapi.PastForecast{At: p.At.UTC(), StockLeftMm: p.StockLeft.MM(), Campaigns: aheadToWire(p.Campaigns), ScrapAt: datesToWire(p.Dates, p.Scrap)}
	}
	return w
}

func changeForecastToWire(c forecast.Change) oapi.NextChange {
	if c.Limit == "" {
		return oapi.NextChange{} // no end in sight; the notes say why
	}
	tonnes, km := aheadToWire(c.TonnageT), aheadToWire(c.RolledKM)
	return oapi.NextChange{TonnageT: &tonnes, RolledKm: &km, At: datesToWire(c.Dates, c.At), LimitedBy: &c.Limit}
}

func lifeToWire(l forecast.Life) oapi.RemainingLife {
	w := oapi.RemainingLife{
		Regrinds: aheadToWire(l.Grinds), Campaigns: aheadToWire(l.Campaigns), ScrapAt: datesToWire(l.Dates && !l.Beyond, l.Scrap), MoreThanFiveYears: optional(l.Beyond),
		CampaignsPerMonth: optional(l.CampaignsPerMonth), DaysPerCycle: optional(l.DaysPerCycle), WearUmPerCycle: l.WearUM, StockUmPerCycle: l.StockUM, IncidentUmPerCycle: l.ExtraUM,
		RhythmFrom: when(l.RhythmFrom), RhythmUntil: when(l.RhythmUntil), RhythmCycleCount: optional(int64(l.RhythmCycles)),
	}
	if l.TonnageT.Mean > 0 {
		tonnes := aheadToWire(l.TonnageT)
		w.TonnageT = &tonnes
	}
	return w
}

func aheadToWire(q forecast.Quantiles) oapi.ForecastQuantiles {
	return oapi.ForecastQuantiles{P5: q.P5, P10: q.P10, P50: q.P50, P90: q.P90, P95: q.P95, Mean: q.Mean}
}

func datesToWire(known bool, d forecast.Dates) *oapi.ForecastDates {
	if !known {
		return nil
	}
	utc := func(t time.Time) time.Time { return t.UTC() }
	return &oapi.ForecastDates{P5: utc(d.P5), P10: utc(d.P10), P50: utc(d.P50), P90: utc(d.P90), P95: utc(d.P95)}
}
