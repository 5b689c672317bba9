package rest

import (
	"context"

	"barrelbook/api/app/port"
	"barrelbook/api/app/report"
	"barrelbook/api/oapi"
	"barrelbook/domain/mill"
	"barrelbook/domain/roll"
)

// ListForecasts gives the scrap dates of all rolls.
func (s *Server) ListForecasts(ctx context.Context, r oapi.ListForecastsRequestObject) (oapi.ListForecastsResponseObject, error) {
	p := r.Params
	answer, err := s.app.ReportForecasts(ctx, report.ForecastsInput{By: text[report.ForecastsBy](p.Sort), Most: int(given(p.Limit)),
		RollFilter: port.RollFilter{Mill: given(p.Mill), Stand: given(p.Stand), Grade: given(p.Grade), Role: text[mill.Role](p.Role), Stage: text[roll.Stage](p.Stage)}})
	if err != nil {
		return nil, err
	}
	return oapi.ListForecasts200JSONResponse{AskedAt: answer.AskedAt.UTC(), Model: answer.Model, RatesVersion: answer.RatesVersion, Items: each(answer.Items, scrapForecastToWire), LeftCount: int64(answer.Left)}, nil
}

func scrapForecastToWire(f report.RollScrap) oapi.ScrapForecast {
	w := oapi.ScrapForecast{Roll: f.Roll, Mill: f.Mill, Role: oapi.Role(f.Role), Grade: f.Grade, Stage: oapi.Stage(f.Stage), Stand: optional(f.Stand), StockLeftMm: f.StockLeft.MM(), ScrapMm: f.ScrapAt.MM(),
		ScrapLimit: f.LimitedBy, AskedAt: f.AskedAt.UTC(), DeliveryDays: f.DeliveryDays, Why: optional(f.Why)}
	if f.Dates {
		w.ScrapAtP10, w.ScrapAtP50, w.ScrapAtP90, w.OrderBy = when(f.P10), when(f.P50), when(f.P90), when(f.OrderBy)
	}
	return w
}
