package rest

import (
	"context"

	"barrelbook/api/app/port"
	"barrelbook/api/app/record"
	"barrelbook/api/oapi"
	"barrelbook/domain/roll"
)

// ListIncidents lists mishaps, newest first.
func (s *Server) ListIncidents(ctx context.Context, r oapi.ListIncidentsRequestObject) (oapi.ListIncidentsResponseObject, error) {
	page, err := pageOf(ctx, r.Params.Limit, r.Params.Cursor)
	if err != nil {
		return nil, err
	}
	items, next, err := s.app.Incidents(ctx, page)
	if err != nil {
		return nil, err
	}
	return oapi.ListIncidents200JSONResponse{Items: each(items, incidentRowToWire), Next: nextOf(ctx, next)}, nil
}

// RecordIncident records a mishap.
func (s *Server) RecordIncident(ctx context.Context, r oapi.RecordIncidentRequestObject) (oapi.RecordIncidentResponseObject, error) {
	in := record.IncidentInput{What: roll.What(r.Body.What), Stand: given(r.Body.Stand), Roll: given(r.Body.Roll), At: given(r.Body.At), Note: given(r.Body.Note)}
	v, err := s.app.RecordIncident(ctx, call(ctx, r.Params.IdempotencyKey, r.Params.DryRun), in)
	if err != nil {
		return nil, err
	}
	w := incidentRowToWire(v.IncidentRow)
	w.Owed, w.Cautions = some(v.Owed), some(v.Cautions)
	return oapi.RecordIncident201JSONResponse(w), nil
}

func incidentRowToWire(i port.IncidentRow) oapi.Incident {
	return oapi.Incident{Name: i.Name, What: string(i.What), Stand: optional(i.Stand), At: i.At.UTC(), Rolls: list(i.Rolls), By: optional(i.By), Note: optional(i.Note)}
}
