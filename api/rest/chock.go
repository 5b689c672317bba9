package rest

import (
	"context"
	"time"

	"barrelbook/api/app/port"
	"barrelbook/api/app/record"
	"barrelbook/api/oapi"
	"barrelbook/domain/chock"
	"barrelbook/domain/mill"
	"barrelbook/domain/roll"
)

// ListChocks lists chocks by name.
func (s *Server) ListChocks(ctx context.Context, r oapi.ListChocksRequestObject) (oapi.ListChocksResponseObject, error) {
	page, err := changedPage(ctx, r.Params.Limit, r.Params.Cursor, r.Params.ChangedSince)
	if err != nil {
		return nil, err
	}
	items, next, err := s.app.Chocks(ctx, port.ChockFilter{Mill: given(r.Params.Mill), Set: given(r.Params.Set)}, page)
	if err != nil {
		return nil, err
	}
	return oapi.ListChocks200JSONResponse{Items: each(items, chockToWire), Next: nextOf(ctx, next)}, nil
}

// GetChock shows a chock.
func (s *Server) GetChock(ctx context.Context, r oapi.GetChockRequestObject) (oapi.GetChockResponseObject, error) {
	v, err := s.app.Chock(ctx, r.Chock)
	if err != nil {
		return nil, err
	}
	return oapi.GetChock200JSONResponse(chockToWire(v)), nil
}

// AddChock opens a book.
func (s *Server) AddChock(ctx context.Context, r oapi.AddChockRequestObject) (oapi.AddChockResponseObject, error) {
	at, c := chockFromWire(*r.Body)
	v, err := s.app.AddChock(ctx, call(ctx, r.Params.IdempotencyKey, r.Params.DryRun), at, c.Chock, c.Note)
	if err != nil {
		return nil, err
	}
	location := "/v1/chocks/" + v.Name
	return oapi.AddChock201JSONResponse{Body: chockToWire(v), Headers: oapi.AddChock201ResponseHeaders{Location: &location}}, nil
}

// FitChock puts a chock on a set or takes it off.
func (s *Server) FitChock(ctx context.Context, r oapi.FitChockRequestObject) (oapi.FitChockResponseObject, error) {
	v, err := s.app.FitChock(ctx, call(ctx, r.Params.IdempotencyKey, r.Params.DryRun), r.Chock, fittingFromWire(*r.Body))
	if err != nil {
		return nil, err
	}
	return oapi.FitChock201JSONResponse(chockToWire(v)), nil
}

// InspectChock records an inspection.
func (s *Server) InspectChock(ctx context.Context, r oapi.InspectChockRequestObject) (oapi.InspectChockResponseObject, error) {
	at, body := chockInspectionFromWire(*r.Body)
	v, err := s.app.InspectChock(ctx, call(ctx, r.Params.IdempotencyKey, r.Params.DryRun), r.Chock, at, body)
	if err != nil {
		return nil, err
	}
	return oapi.InspectChock201JSONResponse(chockToWire(v)), nil
}

// ListChockEntries shows the book of a chock.
func (s *Server) ListChockEntries(ctx context.Context, r oapi.ListChockEntriesRequestObject) (oapi.ListChockEntriesResponseObject, error) {
	page, err := pageOf(ctx, r.Params.Limit, r.Params.Cursor)
	if err != nil {
		return nil, err
	}
	items, next, err := s.app.ChockEntries(ctx, r.Chock, page)
	if err != nil {
		return nil, err
	}
	return oapi.ListChockEntries200JSONResponse{Items: each(items, chockEntryToWire), Next: nextOf(ctx, next)}, nil
}

func chockFromWire(w oapi.ChockInput) (at time.Time, b chock.Received) {
	return given(w.ReceivedAt), chock.Received{Note: given(w.Note),
		Chock: chock.Chock{Name: w.Name, Mill: w.Mill, Role: mill.Role(w.Role), Bearing: w.Bearing, InspectEvery: time.Duration(given(w.InspectEveryH) * float64(time.Hour)),
			InspectEveryT: given(w.InspectEveryT), InspectEveryRevolutions: given(w.InspectEveryRevolutions)}}
}

func fittingFromWire(w oapi.ChockFittingInput) record.FitInput {
	return record.FitInput{At: given(w.At), Set: given(w.Set), Place: text[chock.Place](w.Place), Note: given(w.Note)}
}

func chockInspectionFromWire(w oapi.ChockInspectionInput) (at time.Time, b chock.Inspected) {
	return given(w.At), chock.Inspected{Outcome: roll.Outcome(w.Outcome), NewBearing: given(w.NewBearing), Note: given(w.Note)}
}

func chockToWire(v record.ChockView) oapi.Chock {
	return oapi.Chock{Name: v.Name, Mill: v.Mill, Role: oapi.Role(v.Role), Bearing: v.Bearing, ReceivedAt: v.ReceivedAt.UTC(), InspectEveryH: optional(v.InspectEvery.Hours()),
		Set: optional(v.Set), Place: word[oapi.ChockPlace](v.Place), FittedAt: when(v.FittedAt), Stand: optional(v.Stand),
		Condition: oapi.ChockCondition(v.Condition), InspectedAt: when(v.InspectedAt), HoursH: v.Life.Hours, TonnageT: v.Life.TonnageT,
		BearingHoursH: v.OnBearing.Hours, BearingTonnageT: v.OnBearing.TonnageT,
		Revolutions: optional(v.Life.Revolutions), BearingRevolutions: optional(v.OnBearing.Revolutions), HoursSinceInspectionH: v.Inspection.Since.Hours,
		TonnageSinceInspectionT: v.Inspection.Since.TonnageT, RevolutionsSinceInspection: v.Inspection.Since.Revolutions,
		InspectionDue: v.Inspection.Owed, InspectionWhy: optional(v.Inspection.Why),
		InspectEveryT: optional(v.InspectEveryT), InspectEveryRevolutions: optional(v.InspectEveryRevolutions),
		EntryCount: v.Entries, Notes: some(v.Notes)}
}

func chockEntryToWire(e chock.Entry) oapi.ChockEntry {
	return oapi.ChockEntry{Chock: e.Chock, Number: e.Number, Kind: oapi.ChockEntryKind(e.Body.Kind()), At: e.At.UTC(), RecordedAt: e.RecordedAt.UTC(), By: e.By, Summary: chockSentence(e.Body)}
}

// chockSentence is an entry in one plain sentence.
func chockSentence(body chock.Body) string {
	withNote := func(s, note string) string {
		if note == "" {
			return s
		}
		return s + ": " + note
	}
	switch b := body.(type) {
	case chock.Received:
		return withNote("received for mill "+b.Chock.Mill+" with bearing "+b.Chock.Bearing, b.Note)
	case chock.Fitted:
		return withNote("fitted to set "+b.Set+" ("+string(b.Place)+")", b.Note)
	case chock.TakenOff:
		return withNote("taken off", b.Note)
	case chock.Inspected:
		s := "inspected: " + string(b.Outcome)
		if b.NewBearing != "" {
			s += ", bearing " + b.NewBearing + " put in"
		}
		return withNote(s, b.Note)
	}
	return string(body.Kind())
}
