package rest

import (
	"context"

	"barrelbook/api/app/port"
	"barrelbook/api/app/record"
	"barrelbook/api/oapi"
	"barrelbook/domain/mill"
	"barrelbook/domain/roll"
)

// ListRolls lists rolls by number.
func (s *Server) ListRolls(ctx context.Context, r oapi.ListRollsRequestObject) (oapi.ListRollsResponseObject, error) {
	p := r.Params
	page, err := changedPage(ctx, p.Limit, p.Cursor, p.ChangedSince)
	if err != nil {
		return nil, err
	}
	page.Sort = text[port.Sort](p.Sort)
	filter := port.RollFilter{Stage: text[roll.Stage](p.Stage), Role: text[mill.Role](p.Role), Mill: given(p.Mill), Stand: given(p.Stand), Grade: given(p.Grade), Held: p.Held}
	items, next, err := s.app.Rolls(ctx, filter, page)
	if err != nil {
		return nil, err
	}
	return oapi.ListRolls200JSONResponse{Next: nextOf(ctx, next), Items: each(items, func(v record.RollView) oapi.Roll { return lightRoll(rollToWire(v), given(p.Fields)) })}, nil
}

// lightRoll leaves out of a roll in a list what is most of it, unless it is named:
// profiles along the barrel, and what was rolled width by width and groove by groove.
func lightRoll(w oapi.Roll, fields string) oapi.Roll {
	lighten := func(u *oapi.Usage, path string) {
		for name, part := range map[string]func(){"wear_profile": func() { u.WearProfile = nil }, "widths": func() { u.Widths = nil }, "grooves": func() { u.Grooves = nil }} {
			if !namesPart(fields, path+"."+name) {
				part()
			}
		}
	}
	lighten(&w.Totals, "totals")
	if w.Mounting != nil {
		lighten(&w.Mounting.Usage, "mounting.usage")
	}
	if w.SinceGrind != nil && !namesPart(fields, "since_grind.wear_profile") {
		w.SinceGrind.WearProfile = nil
	}
	return w
}

// GetRoll shows a roll, now or as of a past moment.
func (s *Server) GetRoll(ctx context.Context, r oapi.GetRollRequestObject) (oapi.GetRollResponseObject, error) {
	var a *rollAnswer
	var err error
	if r.Params.AsOf != nil {
		a, err = s.rollAsOf(ctx, r.Roll, *r.Params.AsOf)
	} else {
		a, err = s.rollNow(ctx, r.Roll)
	}
	if err != nil {
		return nil, err
	}
	if notChanged(r.Params.IfNoneMatch, &a.tag) {
		return oapi.GetRoll304Response{}, nil
	}
	return a, nil
}

// ListMountings lists the stays of a roll in stands.
func (s *Server) ListMountings(ctx context.Context, r oapi.ListMountingsRequestObject) (oapi.ListMountingsResponseObject, error) {
	page, err := pageOf(ctx, r.Params.Limit, r.Params.Cursor)
	if err != nil {
		return nil, err
	}
	items, next, err := s.app.Mountings(ctx, r.Roll, page)
	if err != nil {
		return nil, err
	}
	return oapi.ListMountings200JSONResponse{Next: nextOf(ctx, next), Items: each(items, func(m port.Stay) oapi.Mounting { return mountingToWire(m, 0) })}, nil
}

// ReceiveRoll opens a book.
func (s *Server) ReceiveRoll(ctx context.Context, r oapi.ReceiveRollRequestObject) (oapi.ReceiveRollResponseObject, error) {
	receipt, err := receiptFromWire(*r.Body)
	if err != nil {
		return nil, err
	}
	v, err := s.app.ReceiveRoll(ctx, call(ctx, r.Params.IdempotencyKey, r.Params.DryRun), r.Body.ReceivedAt, receipt)
	if err != nil {
		return nil, err
	}
	location := "/v1/rolls/" + v.State.Roll.Number
	return oapi.ReceiveRoll201JSONResponse{Body: rollToWire(v), Headers: oapi.ReceiveRoll201ResponseHeaders{ETag: etag(v.Version()), Location: &location}}, nil
}

// enter records an entry of one book.
func (s *Server) enter(ctx context.Context, key *string, dryRun *bool, number string, h record.Happening) (oapi.Roll, *string, error) {
	h.Number = number
	v, err := s.app.RecordHappening(ctx, call(ctx, key, dryRun), h)
	return rollToWire(v), etag(v.Version()), err
}

// RecordInspection records tests without a grind.
func (s *Server) RecordInspection(ctx context.Context, r oapi.RecordInspectionRequestObject) (oapi.RecordInspectionResponseObject, error) {
	w, tag, err := s.enter(ctx, r.Params.IdempotencyKey, r.Params.DryRun, r.Roll, inspectionFromWire(*r.Body))
	if err != nil {
		return nil, err
	}
	return oapi.RecordInspection201JSONResponse{Body: w, Headers: oapi.RecordInspection201ResponseHeaders{ETag: tag}}, nil
}

// HoldRoll keeps a roll from going out.
func (s *Server) HoldRoll(ctx context.Context, r oapi.HoldRollRequestObject) (oapi.HoldRollResponseObject, error) {
	w, tag, err := s.enter(ctx, r.Params.IdempotencyKey, r.Params.DryRun, r.Roll, reasonedFromWire(*r.Body, roll.Held{}))
	if err != nil {
		return nil, err
	}
	return oapi.HoldRoll201JSONResponse{Body: w, Headers: oapi.HoldRoll201ResponseHeaders{ETag: tag}}, nil
}

// ReleaseRoll ends a hold.
func (s *Server) ReleaseRoll(ctx context.Context, r oapi.ReleaseRollRequestObject) (oapi.ReleaseRollResponseObject, error) {
	w, tag, err := s.enter(ctx, r.Params.IdempotencyKey, r.Params.DryRun, r.Roll, reasonedFromWire(*r.Body, roll.Released{}))
	if err != nil {
		return nil, err
	}
	return oapi.ReleaseRoll201JSONResponse{Body: w, Headers: oapi.ReleaseRoll201ResponseHeaders{ETag: tag}}, nil
}

// RegradeRoll moves a roll to another duty.
func (s *Server) RegradeRoll(ctx context.Context, r oapi.RegradeRollRequestObject) (oapi.RegradeRollResponseObject, error) {
	w, tag, err := s.enter(ctx, r.Params.IdempotencyKey, r.Params.DryRun, r.Roll, regradingFromWire(*r.Body))
	if err != nil {
		return nil, err
	}
	return oapi.RegradeRoll201JSONResponse{Body: w, Headers: oapi.RegradeRoll201ResponseHeaders{ETag: tag}}, nil
}

// ScrapRoll ends a roll.
func (s *Server) ScrapRoll(ctx context.Context, r oapi.ScrapRollRequestObject) (oapi.ScrapRollResponseObject, error) {
	w, tag, err := s.enter(ctx, r.Params.IdempotencyKey, r.Params.DryRun, r.Roll, scrappingFromWire(*r.Body))
	if err != nil {
		return nil, err
	}
	return oapi.ScrapRoll201JSONResponse{Body: w, Headers: oapi.ScrapRoll201ResponseHeaders{ETag: tag}}, nil
}
