package rest

import (
	"context"

	"barrelbook/api/app/port"
	"barrelbook/api/oapi"
)

// ListAudit lists who did what, newest first.
func (s *Server) ListAudit(ctx context.Context, r oapi.ListAuditRequestObject) (oapi.ListAuditResponseObject, error) {
	page, err := pageOf(ctx, r.Params.Limit, r.Params.Cursor)
	if err != nil {
		return nil, err
	}
	p := r.Params
	items, next, err := s.app.Audit(ctx, port.AuditFilter{By: given(p.By), Operation: given(p.Operation), RequestID: given(p.RequestId), Subject: given(p.Subject), From: given(p.From), Until: given(p.Until)}, page)
	if err != nil {
		return nil, err
	}
	return oapi.ListAudit200JSONResponse{Next: nextOf(ctx, next), Items: each(items, func(a port.AuditRow) oapi.AuditLine {
		return oapi.AuditLine{At: a.At.UTC(), By: a.By, What: a.What, RequestId: optional(a.RequestID), Role: word[oapi.AccessRole](a.Role), Operation: optional(a.Operation), Subjects: some(a.Subjects)}
	})}, nil
}
