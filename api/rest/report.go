package rest

import (
	"context"

	"barrelbook/api/app/learn"
	"barrelbook/api/app/report"
	"barrelbook/api/oapi"
	"barrelbook/domain/consumption"
)

// ReportStock says what rolls there are.
func (s *Server) ReportStock(ctx context.Context, r oapi.ReportStockRequestObject) (oapi.ReportStockResponseObject, error) {
	answer, err := s.app.ReportStock(ctx, given(r.Params.Mill))
	if err != nil {
		return nil, err
	}
	return oapi.ReportStock200JSONResponse{AskedAt: answer.AskedAt.UTC(), Model: answer.Model, Groups: each(answer.Groups, stockGroupToWire), Notes: list(answer.Notes)}, nil
}

// ReportConsumption says what rolls cost.
func (s *Server) ReportConsumption(ctx context.Context, r oapi.ReportConsumptionRequestObject) (oapi.ReportConsumptionResponseObject, error) {
	answer, err := s.app.ReportConsumption(ctx, report.ConsumptionInput{By: text[consumption.By](r.Params.By), Mill: given(r.Params.Mill), From: given(r.Params.From), Until: given(r.Params.Until)})
	if err != nil {
		return nil, err
	}
	return oapi.ReportConsumption200JSONResponse{By: oapi.ConsumptionBy(answer.By), From: when(answer.From), Until: when(answer.Until),
		Rows: each(answer.Rows, consumptionRowToWire), Totals: each(answer.Totals, consumptionRowToWire), Balance: balanceToWire(answer.Balance), Notes: list(answer.Notes)}, nil
}

// ReportBuying says which rolls to order by when.
func (s *Server) ReportBuying(ctx context.Context, r oapi.ReportBuyingRequestObject) (oapi.ReportBuyingResponseObject, error) {
	answer, err := s.app.ReportBuying(ctx, report.BuyingInput{Mill: given(r.Params.Mill), Months: given(r.Params.Months), TonnagePerMonth: given(r.Params.TonnagePerMonthT), NeededRolls: int(given(r.Params.NeededRolls))})
	if err != nil {
		return nil, err
	}
	return oapi.ReportBuying200JSONResponse{
		AskedAt: answer.AskedAt.UTC(), Model: answer.Model, RatesVersion: answer.RatesVersion, Pace: answer.Pace, RecentTonnagePerMonthT: answer.RecentPerMonthT,
		Groups: each(answer.Covers, buyingGroupToWire), Orders: each(answer.Orders, buyingOrderToWire), Unforecast: list(answer.Unforecast), Notes: list(answer.Notes),
	}, nil
}

// ReportScores says how forecasts did.
func (s *Server) ReportScores(ctx context.Context, r oapi.ReportScoresRequestObject) (oapi.ReportScoresResponseObject, error) {
	answer, err := s.app.ReportScores(ctx, learn.ScoreInput{Grade: given(r.Params.Grade), Stand: given(r.Params.Stand), From: given(r.Params.From)})
	if err != nil {
		return nil, err
	}
	return oapi.ReportScores200JSONResponse(scoreReportToWire(answer)), nil
}
