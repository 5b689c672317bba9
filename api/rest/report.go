package rest

import (
	"context"

	"barrelbook/api/app"
	"barrelbook/api/oapi"
	"barrelbook/domain/consumption"
)

// ReportStock says what rolls there are.
func (s *Server) ReportStock(ctx context.Context, r oapi.ReportStockRequestObject) (oapi.ReportStockResponseObject, error) {
	report, err := s.app.ReportStock(ctx, given(r.Params.Mill))
	if err != nil {
		return nil, err
	}
	return oapi.ReportStock200JSONResponse{AskedAt: report.AskedAt.UTC(), Model: report.Model, Groups: each(report.Groups, stockGroupToWire), Notes: list(report.Notes)}, nil
}

// ReportConsumption says what rolls cost.
func (s *Server) ReportConsumption(ctx context.Context, r oapi.ReportConsumptionRequestObject) (oapi.ReportConsumptionResponseObject, error) {
	report, err := s.app.ReportConsumption(ctx, app.ConsumptionInput{By: text[consumption.By](r.Params.By), Mill: given(r.Params.Mill), From: given(r.Params.From), Until: given(r.Params.Until)})
	if err != nil {
		return nil, err
	}
	return oapi.ReportConsumption200JSONResponse{By: oapi.ConsumptionBy(report.By), From: when(report.From), Until: when(report.Until),
		Rows: each(report.Rows, consumptionRowToWire), Totals: each(report.Totals, consumptionRowToWire), Notes: list(report.Notes)}, nil
}

// ReportBuying says which rolls to order by when.
func (s *Server) ReportBuying(ctx context.Context, r oapi.ReportBuyingRequestObject) (oapi.ReportBuyingResponseObject, error) {
	report, err := s.app.ReportBuying(ctx, app.BuyingInput{Mill: given(r.Params.Mill), Months: given(r.Params.Months), TonnagePerMonth: given(r.Params.TonnagePerMonthT), NeededRolls: int(given(r.Params.NeededRolls))})
	if err != nil {
		return nil, err
	}
	return oapi.ReportBuying200JSONResponse{
		AskedAt: report.AskedAt.UTC(), Model: report.Model, RatesVersion: report.RatesVersion, Pace: report.Pace, RecentTonnagePerMonthT: report.RecentPerMonthT,
		Groups: each(report.Covers, buyingGroupToWire), Orders: each(report.Orders, buyingOrderToWire), Unforecast: list(report.Unforecast), Notes: list(report.Notes),
	}, nil
}

// ReportScores says how forecasts did.
func (s *Server) ReportScores(ctx context.Context, r oapi.ReportScoresRequestObject) (oapi.ReportScoresResponseObject, error) {
	report, err := s.app.ReportScores(ctx, app.ScoreInput{Grade: given(r.Params.Grade), Stand: given(r.Params.Stand), From: given(r.Params.From)})
	if err != nil {
		return nil, err
	}
	return oapi.ReportScores200JSONResponse(scoreReportToWire(report)), nil
}
