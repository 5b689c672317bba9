package rest

import (
	"context"

	"barrelbook/api/oapi"
)

// GetWorks says what the service keeps and who is asking.
func (s *Server) GetWorks(ctx context.Context, _ oapi.GetWorksRequestObject) (oapi.GetWorksResponseObject, error) {
	works, err := s.app.Works(ctx)
	if err != nil {
		return nil, err
	}
	caller := askedOf(ctx).caller
	return oapi.GetWorks200JSONResponse{
		Version: works.Version, Now: works.Now.UTC(), Database: s.options.Database, Actor: caller.Name, Role: string(caller.Role),
		RollCount: works.Counts.Rolls, EntryCount: works.Counts.Entries, PieceCount: works.Counts.Pieces, Mills: list(works.Mills),
	}, nil
}
