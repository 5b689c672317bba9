package rest

import (
	"context"

	"barrelbook/api/app/report"
	"barrelbook/api/oapi"
	"barrelbook/domain/roll"
	"barrelbook/domain/survival"
)

// ReportPopulations says how long rolls last.
func (s *Server) ReportPopulations(ctx context.Context, r oapi.ReportPopulationsRequestObject) (oapi.ReportPopulationsResponseObject, error) {
	answer, err := s.app.ReportPopulations(ctx, report.PopulationsInput{By: text[string](r.Params.By), Age: text[report.Age](r.Params.Age), Mill: given(r.Params.Mill)})
	if err != nil {
		return nil, err
	}
	return oapi.ReportPopulations200JSONResponse{AskedAt: answer.AskedAt.UTC(), Model: answer.Model, By: oapi.PopulationsBy(answer.By), Age: oapi.RollAge(answer.Age),
		Groups: each(answer.Groups, populationToWire), Notes: list(answer.Notes)}, nil
}

func populationToWire(p report.RollPopulation) oapi.RollPopulation {
	failed := func(why roll.ScrapWhy) int64 { return int64(p.Failed[why]) }
	w := oapi.RollPopulation{Key: p.Key, Role: oapi.Role(p.Role), RollCount: int64(p.Rolls), SpallCount: failed(roll.BySpall), CrackCount: failed(roll.ByCrack), NeckCount: failed(roll.ByNeck),
		PlannedCount: int64(p.Planned), EconomicCount: int64(p.Economic), LivingCount: int64(p.Living), UnusedCount: int64(p.Unused), PartWornCount: int64(p.PartWorn),
		LifeCount: int64(p.Lives), FailedCount: int64(p.Failures), AgeTotal: p.Age,
		Steps: each(p.Steps, func(s survival.Step) oapi.SurvivalStep {
			return oapi.SurvivalStep{Age: s.Age, AtRiskCount: int64(s.AtRisk), FailedCount: int64(s.Failed), Survival: s.Survival, StandardError: s.StandardError}
		})}
	if f := p.Fit; f != nil {
		w.Weibull = &oapi.WeibullFit{Shape: f.Shape, ShapeSe: f.ShapeSE, Scale: f.Scale, ScaleSe: f.ScaleSE, LogLikelihood: f.LogLikelihood,
			TenthFailedAge: optional(p.Tenth), HalfFailedAge: optional(p.Half)}
	}
	return w
}
