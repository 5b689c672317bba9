package rest

import (
	"context"

	"barrelbook/api/app/port"
	"barrelbook/api/app/record"
	"barrelbook/api/oapi"
	"barrelbook/domain/mill"
	"barrelbook/domain/next"
	"barrelbook/domain/refusal"
	"barrelbook/domain/roll"
)

// ListChanges lists roll changes, newest first.
func (s *Server) ListChanges(ctx context.Context, r oapi.ListChangesRequestObject) (oapi.ListChangesResponseObject, error) {
	page, err := changedPage(ctx, r.Params.Limit, r.Params.Cursor, r.Params.ChangedSince)
	if err != nil {
		return nil, err
	}
	page.Sort = text[port.Sort](r.Params.Sort)
	items, next, err := s.app.Changes(ctx, given(r.Params.Stand), page)
	if err != nil {
		return nil, err
	}
	return oapi.ListChanges200JSONResponse{Items: each(items, changeRowToWire), Next: nextOf(ctx, next)}, nil
}

// RecordChange records a roll change at one stand.
func (s *Server) RecordChange(ctx context.Context, r oapi.RecordChangeRequestObject) (oapi.RecordChangeResponseObject, error) {
	if err := saysWhatGoesIn(*r.Body); err != nil {
		return nil, err
	}
	v, err := s.app.RecordChange(ctx, call(ctx, r.Params.IdempotencyKey, r.Params.DryRun), changeFromWire(*r.Body))
	if err != nil {
		return nil, err
	}
	return oapi.RecordChange201JSONResponse(changeToWire(v)), nil
}

// UndoChange takes a roll change back that was recorded wrongly.
func (s *Server) UndoChange(ctx context.Context, r oapi.UndoChangeRequestObject) (oapi.UndoChangeResponseObject, error) {
	v, err := s.app.UndoChange(ctx, call(ctx, r.Params.IdempotencyKey, r.Params.DryRun), r.Change, r.Body.Reason)
	if err != nil {
		return nil, err
	}
	return oapi.UndoChange201JSONResponse(changeToWire(v)), nil
}

// CorrectChange moves a roll change to another moment.
func (s *Server) CorrectChange(ctx context.Context, r oapi.CorrectChangeRequestObject) (oapi.CorrectChangeResponseObject, error) {
	v, err := s.app.CorrectChange(ctx, call(ctx, r.Params.IdempotencyKey, r.Params.DryRun), r.Change, r.Body.At, r.Body.Reason)
	if err != nil {
		return nil, err
	}
	return oapi.CorrectChange201JSONResponse(changeToWire(v)), nil
}

// saysWhatGoesIn refuses a change that would empty a stand only because a field
// was forgotten.
func saysWhatGoesIn(w oapi.ChangeInput) error {
	switch empty := given(w.Empty); {
	case w.SetIn == nil && !empty:
		return &port.Error{Kind: port.Doubtful, Err: refusal.One("set_in", "", "is missing, and no set would go into "+w.Stand, "name the set that goes in; where none does, say so with empty",
			next.ListReadySets(), next.EmptyStand())}
	case w.SetIn != nil && empty:
		return port.Refused(refusal.One("empty", "true", "cannot be while set_in names a set", "leave one of them out"))
	}
	return nil
}

func changeFromWire(w oapi.ChangeInput) record.ChangeInput {
	return record.ChangeInput{Stand: w.Stand, Role: mill.Role(w.Role), At: given(w.At), SetIn: given(w.SetIn), Why: text[roll.Why](w.Why),
		StatedT: given(w.StatedTonnageT), StatedKM: given(w.StatedRolledKm), StatedSpecificKNPerMM: given(w.StatedSpecificForceKnPerMm), Note: given(w.Note)}
}

func changeToWire(v record.ChangeView) oapi.Change {
	w := changeRowToWire(v.ChangeRow)
	w.Out, w.In, w.Cautions = some(each(v.Out, positionAlone)), some(each(v.In, positionAlone)), some(v.Cautions)
	w.Moved = some(each(v.Moved, func(m record.Moved) oapi.MovedPieces {
		return oapi.MovedPieces{Roll: optional(m.Roll), From: optional(m.From), PieceCount: int64(m.Pieces), TonnageT: m.TonnageT}
	}))
	return w
}

func changeRowToWire(c port.ChangeRow) oapi.Change {
	w := oapi.Change{Name: c.Name, Stand: c.Stand, Role: oapi.Role(c.Role), At: c.At.UTC(), SetOut: optional(c.SetOut), SetIn: optional(c.SetIn),
		Why: word[oapi.WithdrawalWhy](c.Why), By: optional(c.By), Note: optional(c.Note),
		StatedTonnageT: optional(c.StatedT), StatedRolledKm: optional(c.StatedKM), StatedSpecificForceKnPerMm: optional(c.StatedSpecificKNPerMM)}
	if !c.UndoneAt.IsZero() {
		w.Undone = &oapi.Undone{At: c.UndoneAt.UTC(), By: c.UndoneBy, Reason: c.UndoneWhy}
	}
	return w
}
