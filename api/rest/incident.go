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
	page, err := changedPage(ctx, r.Params.Limit, r.Params.Cursor, r.Params.ChangedSince)
	if err != nil {
		return nil, err
	}
	page.Sort = text[port.Sort](r.Params.Sort)
	items, next, err := s.app.Incidents(ctx, page)
	if err != nil {
		return nil, err
	}
	return oapi.ListIncidents200JSONResponse{Items: each(items, incidentRowToWire), Next: nextOf(ctx, next)}, nil
}

// RecordIncident records a mishap.
func (s *Server) RecordIncident(ctx context.Context, r oapi.RecordIncidentRequestObject) (oapi.RecordIncidentResponseObject, error) {
	v, err := s.app.RecordIncident(ctx, call(ctx, r.Params.IdempotencyKey, r.Params.DryRun), incidentFromWire(*r.Body))
	if err != nil {
		return nil, err
	}
	return oapi.RecordIncident201JSONResponse(incidentToWire(v)), nil
}

// UndoIncident takes an incident out of the books of all rolls that bore it.
func (s *Server) UndoIncident(ctx context.Context, r oapi.UndoIncidentRequestObject) (oapi.UndoIncidentResponseObject, error) {
	v, err := s.app.UndoIncident(ctx, call(ctx, r.Params.IdempotencyKey, r.Params.DryRun), r.Incident, r.Body.Reason)
	if err != nil {
		return nil, err
	}
	return oapi.UndoIncident201JSONResponse(incidentToWire(v)), nil
}

func incidentFromWire(w oapi.IncidentInput) record.IncidentInput {
	return record.IncidentInput{What: roll.What(w.What), Stand: given(w.Stand), Roll: given(w.Roll), At: given(w.At), Note: given(w.Note)}
}

func incidentToWire(v record.IncidentView) oapi.Incident {
	w := incidentRowToWire(v.IncidentRow)
	w.Owed, w.Cautions = some(v.Owed), some(v.Cautions)
	w.Before, w.After = some(each(v.Before, rollStandingToWire)), some(each(v.After, rollStandingToWire))
	return w
}

func incidentRowToWire(i port.IncidentRow) oapi.Incident {
	w := oapi.Incident{Name: i.Name, What: string(i.What), Stand: optional(i.Stand), At: i.At.UTC(), Rolls: list(i.Rolls), By: optional(i.By), Note: optional(i.Note)}
	if !i.UndoneAt.IsZero() {
		w.Undone = &oapi.Undone{At: i.UndoneAt.UTC(), By: i.UndoneBy, Reason: i.UndoneWhy}
	}
	return w
}
