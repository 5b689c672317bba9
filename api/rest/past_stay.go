package rest

import (
	"context"
	"strconv"

	"barrelbook/api/app/record"
	"barrelbook/api/oapi"
	"barrelbook/domain/mill"
	"barrelbook/domain/refusal"
	"barrelbook/domain/roll"
)

// RecordPastStays carries lines of roll cards over into the books.
func (s *Server) RecordPastStays(ctx context.Context, r oapi.RecordPastStaysRequestObject) (oapi.RecordPastStaysResponseObject, error) {
	lines := make([]record.PastStay, len(r.Body.Stays))
	for i, w := range r.Body.Stays {
		var err error
		if lines[i], err = pastStayFromWire(w); err != nil {
			fields := refusal.FieldsOf(err)
			for k := range fields {
				fields[k].Path = "stays/" + strconv.Itoa(i) + "/regrind/" + fields[k].Path
			}
			return nil, err
		}
	}
	answer, err := s.app.RecordPastStays(ctx, call(ctx, r.Params.IdempotencyKey, r.Params.DryRun), lines)
	if err != nil {
		return nil, err
	}
	return oapi.RecordPastStays201JSONResponse(pastStaysAnswerToWire(answer)), nil
}

func pastStayFromWire(w oapi.PastStayInput) (record.PastStay, error) {
	l := record.PastStay{Roll: w.Roll, WithdrawnAt: w.WithdrawnAt, PastStay: roll.PastStay{Stand: w.Stand, Position: mill.Position(w.Position), From: w.MountedAt, Why: roll.Why(given(w.Why)),
		Pieces: given(w.PieceCount), TonnageT: w.TonnageT, RolledKM: given(w.RolledKm), SpecificForceKNPerMM: given(w.SpecificForceKnPerMm)}}
	if l.Why == "" {
		l.Why = roll.Planned
	}
	if w.Regrind == nil {
		return l, nil
	}
	in, err := regrindFromWire(*w.Regrind)
	l.Regrind = &in
	return l, err
}

func pastStaysAnswerToWire(a record.PastStaysAnswer) oapi.PastStaysAnswer {
	return oapi.PastStaysAnswer{RollCount: a.Rolls, StayCount: a.Stays, RegrindCount: a.Regrinds, KnownCount: a.Known, DryRun: a.DryRun}
}
