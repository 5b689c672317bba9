package rest

import (
	"context"

	"barrelbook/api/app/plan"
	"barrelbook/api/oapi"
)

// PlanChanges answers the second question.
func (s *Server) PlanChanges(ctx context.Context, r oapi.PlanChangesRequestObject) (oapi.PlanChangesResponseObject, error) {
	answer, err := s.app.PlanChanges(ctx, planFromWire(*r.Body))
	if err != nil {
		return nil, err
	}
	return oapi.PlanChanges200JSONResponse(planToWire(answer)), nil
}

func planFromWire(w oapi.ChangePlanInput) plan.PlanInput {
	return plan.PlanInput{Campaign: w.Campaign, Confidence: given(w.Confidence), Stands: given(w.Stands), Grinders: int(given(w.GrinderCount)), Explain: given(w.Explain)}
}

func planToWire(p plan.Plan) oapi.ChangePlan {
	return oapi.ChangePlan{
		Campaign: p.Campaign, AskedAt: p.AskedAt.UTC(), Model: p.Model, Feasible: p.Feasible, Optimal: p.Optimal, Cost: p.Cost, Gap: p.Gap,
		CannotMeet: list(p.CannotMeet), Stops: each(p.Stops, planStopToWire), StandsWithoutChange: some(p.WithoutChange),
		GrinderQueue: each(p.Grinders, func(g plan.PlanGrind) oapi.GrinderJob {
			return oapi.GrinderJob{Set: g.Set, Rolls: list(g.Rolls), Grinder: int64(g.Grinder), StartAt: g.StartAt.UTC(), FinishAt: g.FinishAt.UTC(), DueAt: when(g.DueAt),
				LateMin: optional(g.LateMin), ForStand: optional(g.ForStand)}
		}),
		Cautions: list(p.Cautions), Notes: list(p.Notes),
	}
}

func planStopToWire(s plan.PlanStop) oapi.PlanStop {
	return oapi.PlanStop{BeforePiece: int64(s.BeforePiece), PieceId: optional(s.PieceID), PlannedStop: optional(s.PlannedStop), At: s.At.UTC(),
		Changes: each(s.Changes, func(c plan.PlanChange) oapi.PlanChange {
			return oapi.PlanChange{Stand: c.Stand, Role: oapi.Role(c.Role), SetOut: optional(c.SetOut), SetIn: optional(c.SetIn), Why: c.Why,
				ReadyAt: when(c.ReadyAt), SecondBest: optional(c.SecondBest)}
		})}
}
