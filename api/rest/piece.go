package rest

import (
	"bytes"
	"context"

	"barrelbook/api/app/port"
	"barrelbook/api/oapi"
	"barrelbook/domain/mill"
)

// ListPieces lists rolled pieces, newest first.
func (s *Server) ListPieces(ctx context.Context, r oapi.ListPiecesRequestObject) (oapi.ListPiecesResponseObject, error) {
	page, err := pageOf(ctx, r.Params.Limit, r.Params.Cursor)
	if err != nil {
		return nil, err
	}
	page.Sort = text[port.Sort](r.Params.Sort)
	items, next, err := s.app.Pieces(ctx, given(r.Params.Mill), page)
	if err != nil {
		return nil, err
	}
	return oapi.ListPieces200JSONResponse{Items: each(items, pieceToWire), Next: nextOf(ctx, next)}, nil
}

// pieceLine is one line as read: a piece, or why it is none.
type pieceLine struct {
	piece mill.Piece
	id    string
	err   error
}

// readPiece holds one line against the contract.
func (s *Server) readPiece(text []byte) pieceLine {
	schema, err := s.contract.piece()
	if err != nil {
		return pieceLine{err: err}
	}
	body, err := decodeStrict(bytes.NewReader(text), schema)
	id := ""
	if members, ok := body.value.(map[string]any); ok {
		id, _ = members["id"].(string)
	}
	if err != nil {
		return pieceLine{id: shorten(id), err: err}
	}
	var w oapi.PieceInput
	if err := body.bind(&w); err != nil {
		return pieceLine{id: id, err: malformed("a number is too large for its field")}
	}
	return pieceLine{id: id, piece: pieceFromWire(w)}
}
