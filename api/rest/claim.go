package rest

import (
	"context"

	"barrelbook/api/app/port"
	"barrelbook/api/app/record"
	"barrelbook/api/oapi"
	"barrelbook/domain/purchase"
)

// ListClaims lists claims, newest first.
func (s *Server) ListClaims(ctx context.Context, r oapi.ListClaimsRequestObject) (oapi.ListClaimsResponseObject, error) {
	page, err := pageOf(ctx, r.Params.Limit, r.Params.Cursor)
	if err != nil {
		return nil, err
	}
	items, next, err := s.app.Claims(ctx, port.ClaimFilter{Roll: given(r.Params.Roll), Open: given(r.Params.Open)}, page)
	if err != nil {
		return nil, err
	}
	return oapi.ListClaims200JSONResponse{Items: each(items, claimToWire), Next: nextOf(ctx, next)}, nil
}

// MakeClaim keeps a claim.
func (s *Server) MakeClaim(ctx context.Context, r oapi.MakeClaimRequestObject) (oapi.MakeClaimResponseObject, error) {
	c, err := s.app.MakeClaim(ctx, call(ctx, r.Params.IdempotencyKey, r.Params.DryRun), claimFromWire(*r.Body))
	if err != nil {
		return nil, err
	}
	return oapi.MakeClaim201JSONResponse(claimToWire(c)), nil
}

// SettleClaim notes what was given back.
func (s *Server) SettleClaim(ctx context.Context, r oapi.SettleClaimRequestObject) (oapi.SettleClaimResponseObject, error) {
	c, err := s.app.SettleClaim(ctx, call(ctx, r.Params.IdempotencyKey, r.Params.DryRun), r.Claim, r.Body.Credited, given(r.Body.At), given(r.Body.Note))
	if err != nil {
		return nil, err
	}
	return oapi.SettleClaim201JSONResponse(claimToWire(c)), nil
}

func claimFromWire(w oapi.ClaimInput) purchase.Claim {
	return purchase.Claim{Name: given(w.Name), Roll: w.Roll, What: w.What, MadeAt: given(w.MadeAt), Claimed: given(w.Claimed), Note: given(w.Note)}
}

func claimToWire(v record.ClaimView) oapi.Claim {
	w := oapi.Claim{Name: v.Name, Roll: v.Roll, Supplier: optional(v.Supplier), What: v.What, MadeAt: v.MadeAt.UTC(), Claimed: v.Claimed, Warranty: oapi.ClaimWarranty(v.Warranty), By: optional(v.By), Note: optional(v.Note), Version: v.Version}
	if !v.SettledAt.IsZero() {
		at := v.SettledAt.UTC()
		w.SettledAt, w.Credited = &at, &v.Credited
	}
	return w
}
