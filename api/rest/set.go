package rest

import (
	"context"

	"barrelbook/api/app/gather"
	"barrelbook/api/app/port"
	"barrelbook/api/app/record"
	"barrelbook/api/oapi"
	"barrelbook/domain/mill"
)

// ListSets lists standing sets.
func (s *Server) ListSets(ctx context.Context, r oapi.ListSetsRequestObject) (oapi.ListSetsResponseObject, error) {
	page, err := changedPage(ctx, r.Params.Limit, r.Params.Cursor, r.Params.ChangedSince)
	if err != nil {
		return nil, err
	}
	filter := port.SetFilter{Role: text[mill.Role](r.Params.Role), Mill: given(r.Params.Mill)}
	items, next, err := s.app.Sets(ctx, filter, r.Params.Ready, page)
	if err != nil {
		return nil, err
	}
	return oapi.ListSets200JSONResponse{Items: each(items, setToWire), Next: nextOf(ctx, next)}, nil
}

// GetSet shows a set with its rolls as they are now.
func (s *Server) GetSet(ctx context.Context, r oapi.GetSetRequestObject) (oapi.GetSetResponseObject, error) {
	v, err := s.app.Set(ctx, r.Set)
	if err != nil {
		return nil, err
	}
	body := setToWire(v)
	tag, err := viewTag(v.Version, body)
	if err != nil {
		return nil, err
	}
	if notChanged(r.Params.IfNoneMatch, tag) {
		return oapi.GetSet304Response{}, nil
	}
	return oapi.GetSet200JSONResponse{Body: body, Headers: oapi.GetSet200ResponseHeaders{ETag: tag}}, nil
}

// BuildSet pairs two rolls.
func (s *Server) BuildSet(ctx context.Context, r oapi.BuildSetRequestObject) (oapi.BuildSetResponseObject, error) {
	v, err := s.app.BuildSet(ctx, call(ctx, r.Params.IdempotencyKey, r.Params.DryRun), setFromWire(*r.Body))
	if err != nil {
		return nil, err
	}
	location := "/v1/sets/" + v.Name
	return oapi.BuildSet201JSONResponse{Body: setToWire(v), Headers: oapi.BuildSet201ResponseHeaders{ETag: etag(v.Version), Location: &location}}, nil
}

// BreakSet takes a set apart.
func (s *Server) BreakSet(ctx context.Context, r oapi.BreakSetRequestObject) (oapi.BreakSetResponseObject, error) {
	call, err := callOnRequired(ctx, r.Params.IdempotencyKey, r.Params.DryRun, r.Params.IfMatch)
	if err != nil {
		return nil, err
	}
	v, err := s.app.BreakSet(ctx, call, r.Set, given(r.Body.At), r.Body.Reason)
	if err != nil {
		return nil, err
	}
	return oapi.BreakSet201JSONResponse(setToWire(v)), nil
}

func setFromWire(w oapi.SetInput) record.SetInput {
	return record.SetInput{Name: given(w.Name), At: given(w.At), Top: w.Top, Bottom: w.Bottom, Note: given(w.Note)}
}

func setToWire(v gather.SetView) oapi.Set {
	return oapi.Set{
		Name: v.Name, Role: oapi.Role(v.Role), Mill: v.Mill, Stands: some(v.TopState.Stands), Top: v.Top, Bottom: v.Bottom,
		TopDiameterMm: mmOrNone(v.TopState.Diameter), BottomDiameterMm: mmOrNone(v.BottomState.Diameter),
		BuiltAt: v.BuiltAt.UTC(), BrokenAt: when(v.BrokenAt), MismatchUm: float64(v.Mismatch), ToleranceUm: float64(v.Tolerance), InTolerance: v.Mismatch <= v.Tolerance,
		Stage: setStage(v), Stand: optional(v.Stand), Fit: fitnessToWire(v.Fitness), Version: v.Version,
	}
}

func setStage(v gather.SetView) oapi.SetStage {
	switch {
	case !v.BrokenAt.IsZero():
		return oapi.SetStageBroken
	case v.Stand != "":
		return oapi.SetStageMounted
	case v.Ready():
		return oapi.SetStageReady
	default:
		return oapi.SetStageNotReady
	}
}
