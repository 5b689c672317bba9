package rest

import (
	"context"

	"barrelbook/api/oapi"
	"barrelbook/domain/refusal"
)

// ListStands lists stands in pass order.
func (s *Server) ListStands(ctx context.Context, r oapi.ListStandsRequestObject) (oapi.ListStandsResponseObject, error) {
	page, err := changedPage(ctx, r.Params.Limit, r.Params.Cursor, r.Params.ChangedSince)
	if err != nil {
		return nil, err
	}
	items, next, err := s.app.Stands(ctx, given(r.Params.Mill), page)
	if err != nil {
		return nil, err
	}
	return oapi.ListStands200JSONResponse{Items: each(items, standToWire), Next: nextOf(ctx, next)}, nil
}

// GetStand shows a stand with the rolls in it.
func (s *Server) GetStand(ctx context.Context, r oapi.GetStandRequestObject) (oapi.GetStandResponseObject, error) {
	v, err := s.app.Stand(ctx, r.Stand)
	if err != nil {
		return nil, err
	}
	body := standViewToWire(v)
	tag, err := viewTag(v.Stand.Version, body)
	if err != nil {
		return nil, err
	}
	if notChanged(r.Params.IfNoneMatch, tag) {
		return oapi.GetStand304Response{}, nil
	}
	return oapi.GetStand200JSONResponse{Body: body, Headers: oapi.GetStand200ResponseHeaders{ETag: tag}}, nil
}

// CreateStand keeps a stand.
func (s *Server) CreateStand(ctx context.Context, r oapi.CreateStandRequestObject) (oapi.CreateStandResponseObject, error) {
	in, err := standFromWire(*r.Body)
	if err != nil {
		return nil, err
	}
	stand, err := s.app.CreateStand(ctx, call(ctx, r.Params.IdempotencyKey, nil), in)
	if err != nil {
		return nil, err
	}
	return oapi.CreateStand201JSONResponse{Body: standToWire(stand), Headers: oapi.CreateStand201ResponseHeaders{ETag: etag(stand.Version)}}, nil
}

// ReplaceStand keeps a new version of a stand.
func (s *Server) ReplaceStand(ctx context.Context, r oapi.ReplaceStandRequestObject) (oapi.ReplaceStandResponseObject, error) {
	call, err := callOnRequired(ctx, nil, nil, r.Params.IfMatch)
	if err != nil {
		return nil, err
	}
	if r.Body.Name != r.Stand {
		return nil, refusal.One("name", r.Body.Name, "must be "+r.Stand+", as in the path", "a stand keeps its name")
	}
	in, err := standFromWire(*r.Body)
	if err != nil {
		return nil, err
	}
	stand, err := s.app.ReplaceStand(ctx, call, in)
	if err != nil {
		return nil, err
	}
	return oapi.ReplaceStand200JSONResponse{Body: standToWire(stand), Headers: oapi.ReplaceStand200ResponseHeaders{ETag: etag(stand.Version)}}, nil
}
