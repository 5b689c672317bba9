package rest

import (
	"context"
	"time"

	"barrelbook/api/app/port"
	"barrelbook/api/app/record"
	"barrelbook/api/oapi"
)

// ListTokens lists tokens without their secrets.
func (s *Server) ListTokens(ctx context.Context, r oapi.ListTokensRequestObject) (oapi.ListTokensResponseObject, error) {
	page, err := pageOf(ctx, r.Params.Limit, r.Params.Cursor)
	if err != nil {
		return nil, err
	}
	items, next, err := s.app.Tokens(ctx, page)
	if err != nil {
		return nil, err
	}
	return oapi.ListTokens200JSONResponse{Items: each(items, tokenToWire), Next: nextOf(ctx, next)}, nil
}

// CreateToken makes a token and shows its secret this once.
func (s *Server) CreateToken(ctx context.Context, r oapi.CreateTokenRequestObject) (oapi.CreateTokenResponseObject, error) {
	row, secret, err := s.app.CreateToken(ctx, call(ctx, nil, nil), tokenFromWire(*r.Body))
	if err != nil {
		return nil, err
	}
	return oapi.CreateToken201JSONResponse{Token: tokenToWire(row), Secret: secret}, nil
}

// RotateToken gives a token a new secret.
func (s *Server) RotateToken(ctx context.Context, r oapi.RotateTokenRequestObject) (oapi.RotateTokenResponseObject, error) {
	row, secret, err := s.app.RotateToken(ctx, call(ctx, nil, nil), r.Token, given(r.Body.ExpiresAt), time.Duration(given(r.Body.KeepOldSecretS))*time.Second)
	if err != nil {
		return nil, err
	}
	return oapi.RotateToken201JSONResponse{Token: tokenToWire(row), Secret: secret}, nil
}

// RevokeToken ends a token.
func (s *Server) RevokeToken(ctx context.Context, r oapi.RevokeTokenRequestObject) (oapi.RevokeTokenResponseObject, error) {
	if err := s.app.RevokeToken(ctx, call(ctx, nil, nil), r.Token); err != nil {
		return nil, err
	}
	return oapi.RevokeToken204Response{}, nil
}

func tokenFromWire(w oapi.TokenInput) record.TokenInput {
	return record.TokenInput{Name: w.Name, Role: port.Role(w.Role), Mills: given(w.Mills), ExpiresAt: given(w.ExpiresAt)}
}

func tokenToWire(t port.TokenRow) oapi.Token {
	return oapi.Token{Name: t.Name, Role: oapi.AccessRole(t.Role), CreatedAt: t.CreatedAt.UTC(), ExpiresAt: t.ExpiresAt.UTC(), RevokedAt: when(t.RevokedAt),
		Mills: some(t.Mills), RotatedAt: when(t.RotatedAt), OldSecretUntil: when(t.PreviousUntil), UsedAt: when(t.UsedAt)}
}
