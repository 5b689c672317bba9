package rest

import (
	"context"

	"barrelbook/api/oapi"
)

// ListEntries pages through a book in the order it was written.
func (s *Server) ListEntries(ctx context.Context, r oapi.ListEntriesRequestObject) (oapi.ListEntriesResponseObject, error) {
	page, err := pageOf(ctx, r.Params.Limit, r.Params.Cursor)
	if err != nil {
		return nil, err
	}
	items, next, err := s.app.Entries(ctx, r.Roll, page)
	if err != nil {
		return nil, err
	}
	out := oapi.ListEntries200JSONResponse{Items: make([]oapi.Entry, len(items)), Next: nextOf(ctx, next)}
	for i, e := range items {
		if out.Items[i], err = entryToWire(e); err != nil {
			return nil, err
		}
	}
	return out, nil
}
