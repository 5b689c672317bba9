package rest

import (
	"context"
	"fmt"

	"barrelbook/api/oapi"
	"barrelbook/domain/survival"
)

const weibullModel = "weibull 1: two parameters by maximum likelihood with right censoring"

// CalculateWeibull fits lives of rolls.
func (s *Server) CalculateWeibull(ctx context.Context, r oapi.CalculateWeibullRequestObject) (oapi.CalculateWeibullResponseObject, error) {
	lives := make([]survival.Observation, len(r.Body.Observations))
	for i, o := range r.Body.Observations {
		lives[i] = survival.Observation{Value: o.Value, Failed: o.Failed}
	}
	fit, err := survival.FitWeibull(lives, ctx.Err)
	if err != nil {
		return nil, err
	}
	w := oapi.CalculateWeibull200JSONResponse{Model: weibullModel, Shape: fit.Shape, Scale: fit.Scale, LogLikelihood: fit.LogLikelihood, ShapeSe: fit.ShapeSE, ScaleSe: fit.ScaleSE, Survival: []float64{}}
	for i, at := range given(r.Body.SurvivalAt) {
		p, err := fit.Survival(at.Age, at.Further)
		if err != nil {
			at := fmt.Sprintf("survival_at/%d/", i)
			return nil, renamed(err, "age", at+"age", "further", at+"further")
		}
		w.Survival = append(w.Survival, p)
	}
	return w, nil
}
