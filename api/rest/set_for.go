package rest

import (
	"context"

	"barrelbook/api/app/record"
	"barrelbook/api/oapi"
	"barrelbook/domain/mill"
)

// ListSetsForStand says which sets may go into a stand, and why the others not.
func (s *Server) ListSetsForStand(ctx context.Context, r oapi.ListSetsForStandRequestObject) (oapi.ListSetsForStandResponseObject, error) {
	role := mill.Work
	if r.Params.Role != nil {
		role = mill.Role(*r.Params.Role)
	}
	list, err := s.app.SetsFor(ctx, r.Stand, role)
	if err != nil {
		return nil, err
	}
	return oapi.ListSetsForStand200JSONResponse{Stand: r.Stand, Items: each(list, setForToWire)}, nil
}

func setForToWire(f record.SetFor) oapi.SetForStand {
	return oapi.SetForStand{Set: setToWire(f.SetView), MayGoIn: len(f.Reasons) == 0, Reasons: list(f.Reasons)}
}
