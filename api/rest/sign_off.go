package rest

import (
	"context"

	"barrelbook/api/app/port"
	"barrelbook/api/oapi"
)

// SignOffWorks signs the whole works off as it is.
func (s *Server) SignOffWorks(ctx context.Context, r oapi.SignOffWorksRequestObject) (oapi.SignOffWorksResponseObject, error) {
	link, err := s.app.SignOff(ctx, call(ctx, r.Params.IdempotencyKey, nil), given(r.Body.Note))
	if err != nil {
		return nil, err
	}
	return oapi.SignOffWorks201JSONResponse(signOffToWire(link)), nil
}

// ListSignOffs lists the sign-offs, newest first.
func (s *Server) ListSignOffs(ctx context.Context, r oapi.ListSignOffsRequestObject) (oapi.ListSignOffsResponseObject, error) {
	page, err := pageOf(ctx, r.Params.Limit, r.Params.Cursor)
	if err != nil {
		return nil, err
	}
	items, next, err := s.app.SignOffs(ctx, page)
	if err != nil {
		return nil, err
	}
	return oapi.ListSignOffs200JSONResponse{Items: each(items, signOffToWire), Next: nextOf(ctx, next)}, nil
}

func signOffToWire(s port.SignOff) oapi.SignOff {
	return oapi.SignOff{Number: s.Number, At: s.At.UTC(), By: s.By, Note: optional(s.Note), RowCount: s.Kept, Hash: s.Hash}
}
