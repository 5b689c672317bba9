package rest

import (
	"context"

	"barrelbook/api/app/plan"
	"barrelbook/api/oapi"
	"barrelbook/domain/finish"
)

// CheckFinish answers the third question.
func (s *Server) CheckFinish(ctx context.Context, r oapi.CheckFinishRequestObject) (oapi.CheckFinishResponseObject, error) {
	in := finishFromWire(*r.Body)
	in.Campaign = r.Campaign
	a, err := s.app.CheckFinish(ctx, in)
	if err != nil {
		return nil, err
	}
	return oapi.CheckFinish200JSONResponse(finishToWire(a)), nil
}

func finishFromWire(w oapi.FinishCheckInput) plan.FinishInput {
	return plan.FinishInput{Stand: given(w.Stand), WithSet: given(w.WithSet), FromPiece: int(given(w.FromPiece)), Explain: given(w.Explain), Course: given(w.Course), AsOf: given(w.AsOf)}
}

func finishToWire(a plan.FinishAnswer) oapi.FinishCheck {
	return oapi.FinishCheck{
		Campaign: a.Campaign, AskedAt: a.AskedAt.UTC(), Model: a.Model, Verdict: oapi.FinishVerdict(a.Verdict), YesFromProbability: &a.YesFrom, NoBelowProbability: &a.NoBelow,
		Stands: each(a.Stands, standFinishToWire), Cautions: list(a.Cautions), Notes: list(a.Notes),
	}
}

func standFinishToWire(a finish.Answer) oapi.StandFinish {
	w := oapi.StandFinish{
		Stand: a.Stand, Set: optional(a.Set), BackupSet: optional(a.BackupSet), IntermediateSet: optional(a.IntermediateSet), Verdict: oapi.FinishVerdict(a.Verdict), Probability: a.Probability, Sentence: a.Sentence,
		Margins: each(a.Margins, marginToWire), Blocks: list(a.Blocks), Unknowns: some(a.Unknowns), Notes: some(a.Notes), Remedies: some(each(a.Remedies, remedyToWire)),
	}
	if a.More != nil {
		w.More = &oapi.Capacity{PieceCount: int64(a.More.Pieces), TonnageT: a.More.TonnageT, RolledKm: a.More.RolledKM, AtLeast: optional(a.More.AtLeast)}
	}
	if a.Limiting != nil {
		m := marginToWire(*a.Limiting)
		w.Limiting = &m
	}
	return w
}

func marginToWire(m finish.Margin) oapi.CriterionMargin {
	return oapi.CriterionMargin{Roll: m.Roll, Hard: optional(m.Hard), Past: optional(m.Past), Criterion: string(m.Criterion), Groove: optional(int64(m.Groove)), Unit: m.Unit, Limit: m.Limit, Now: m.Now, AtEnd: m.AtEnd, AtEndLow: &m.AtEndLow, AtEndHigh: &m.AtEndHigh,
		Probability: m.Probability, Reached: reachedToWire(m.Reached), ReachedP10: reachedToWire(m.ReachedP10), Source: optional(m.Source), Course: some(each(m.Course, stepToWire))}
}

func stepToWire(s finish.Step) oapi.CourseStep {
	return oapi.CourseStep{Piece: int64(s.Piece), Value: s.Value, Low: s.Low, High: s.High}
}

func reachedToWire(r *finish.Reached) *oapi.ReachedAt {
	if r == nil {
		return nil
	}
	return &oapi.ReachedAt{Piece: int64(r.Piece), PieceId: optional(r.PieceID), TonnageT: r.TonnageT, RolledKm: r.RolledKM}
}

func remedyToWire(r finish.Remedy) oapi.Remedy {
	return oapi.Remedy{What: oapi.RemedyWhat(r.What), Sentence: r.Sentence, Set: optional(r.Set), Groove: optional(int64(r.Groove)), BeforePiece: optional(int64(r.BeforePiece)),
		Verdict: oapi.FinishVerdict(r.Verdict), Probability: r.Probability, Cost: optional(r.Cost)}
}
