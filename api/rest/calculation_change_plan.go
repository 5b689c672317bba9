package rest

import (
	"context"
	"fmt"

	"barrelbook/api/oapi"
	"barrelbook/domain/changeplan"
)

const changePlanModel = "change-plan 1: label dynamic programming with dominance"

// CalculateChangePlan finds the cheapest changes of a programme.
func (s *Server) CalculateChangePlan(ctx context.Context, r oapi.CalculateChangePlanRequestObject) (oapi.CalculateChangePlanResponseObject, error) {
	b := r.Body
	p := changeplan.Problem{Pieces: int(b.Pieces), StopCost: b.StopCost, PlannedStopCost: given(b.PlannedStopCost),
		PlannedStops: each(given(b.PlannedStops), func(k int64) int { return int(k) })}
	for _, s := range b.Stands {
		p.Stands = append(p.Stands, changeplan.Stand{Name: s.Name, Limit: s.Limit, StartUsage: given(s.StartUsage), ChangeCost: given(s.ChangeCost),
			UnusedCostPerUnit: given(s.UnusedCostPerUnit), EndCostPerUnit: given(s.EndCostPerUnit), Usage: s.Usage})
	}
	result, err := changeplan.Plan(p, changeplan.Options{Stop: ctx.Err})
	if err != nil {
		return nil, err
	}
	w := oapi.CalculateChangePlan200JSONResponse{Model: changePlanModel, Feasible: len(result.Infeasible) == 0, Optimal: result.Optimal, Gap: result.Gap}
	w.Stops = make([]struct {
		BeforePiece int64    `json:"before_piece"`
		Stands      []string `json:"stands"`
	}, len(result.Stops))
	for i, stop := range result.Stops {
		w.Stops[i].BeforePiece, w.Stops[i].Stands = int64(stop.BeforePiece), list(stop.Stands())
	}
	if !w.Feasible {
		m := result.Infeasible[0]
		w.Infeasible = &struct {
			Piece    int64  `json:"piece"`
			Sentence string `json:"sentence"`
			Stand    string `json:"stand"`
		}{int64(m.Piece), fmt.Sprintf("piece %d, counted from 0, alone uses %d in stand %s, and its limit is %d", m.Piece, m.Usage, m.Stand, m.Limit), m.Stand}
		return w, nil
	}
	w.Cost = &result.Cost
	return w, nil
}
