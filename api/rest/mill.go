package rest

import (
	"context"

	"barrelbook/api/oapi"
	"barrelbook/domain/mill"
)

// ListMills lists mills by name.
func (s *Server) ListMills(ctx context.Context, r oapi.ListMillsRequestObject) (oapi.ListMillsResponseObject, error) {
	page, err := pageOf(ctx, r.Params.Limit, r.Params.Cursor)
	if err != nil {
		return nil, err
	}
	items, next, err := s.app.Mills(ctx, page)
	if err != nil {
		return nil, err
	}
	return oapi.ListMills200JSONResponse{Items: each(items, millToWire), Next: nextOf(ctx, next)}, nil
}

// CreateMill keeps a mill.
func (s *Server) CreateMill(ctx context.Context, r oapi.CreateMillRequestObject) (oapi.CreateMillResponseObject, error) {
	m, err := s.app.CreateMill(ctx, call(ctx, r.Params.IdempotencyKey, nil), millFromWire(*r.Body))
	if err != nil {
		return nil, err
	}
	return oapi.CreateMill201JSONResponse(millToWire(m)), nil
}

func millFromWire(w oapi.Mill) mill.Mill {
	return mill.Mill{Name: w.Name, Kind: mill.Kind(w.Kind), Title: given(w.Title), DensityKGPerM3: given(w.DensityKgPerM3)}
}

func millToWire(m mill.Mill) oapi.Mill {
	return oapi.Mill{Name: m.Name, Kind: oapi.MillKind(m.Kind), Title: optional(m.Title), DensityKgPerM3: optional(m.DensityKGPerM3)}
}
