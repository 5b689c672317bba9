package rest

import (
	"context"

	"barrelbook/api/oapi"
	"barrelbook/domain/life"
)

const rollLifeModel = "roll-life 1: the law of the stock used up, without random draws"

// CalculateRollLife forecasts the campaigns and tonnes a roll still rolls.
func (s *Server) CalculateRollLife(ctx context.Context, r oapi.CalculateRollLifeRequestObject) (oapi.CalculateRollLifeResponseObject, error) {
	b := r.Body
	in := life.Input{StockMM: b.StockMm, Wear: life.Spread{Mean: b.Wear.MeanMm, CV: b.Wear.Cv}, LossProbability: given(b.LossProbability), WearFollowsTonnes: given(b.WearFollowsTonnes)}
	if a := b.Allowance; a != nil {
		in.FixedAllowanceMM, in.Allowance = given(a.FixedMm), life.Spread{Mean: given(a.MeanMm), CV: given(a.Cv)}
	}
	if i := b.Incident; i != nil {
		in.Incident = life.Incident{Probability: i.Probability, MinimumMM: i.MinimumMm, MeanExcessMM: i.MeanExcessMm}
	}
	if t := b.Tonnes; t != nil {
		in.Tonnes = life.Spread{Mean: t.MeanT, CV: t.Cv}
	}
	result, err := life.Remaining(in, ctx.Err)
	if err != nil {
		return nil, err
	}
	notes := []string{"the campaign that uses the stock up, or in which the roll is lost, was rolled and counts"}
	w := oapi.CalculateRollLife200JSONResponse{Model: rollLifeModel, Campaigns: quantilesToWire(result.Campaigns), Notes: &notes}
	if b.Tonnes != nil {
		tonnes := quantilesToWire(result.Tonnes)
		w.Tonnes = &tonnes
	}
	return w, nil
}

func quantilesToWire(q life.Quantiles) oapi.CalcQuantiles {
	return oapi.CalcQuantiles{P10: q.P10, P50: q.P50, P90: q.P90, Mean: q.Mean}
}
