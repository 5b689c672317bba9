package rest

import (
	"context"

	"github.com/oapi-codegen/runtime"

	"barrelbook/api/oapi"
	"barrelbook/domain/mill"
)

// ListPieces lists rolled pieces, newest first.
func (s *Server) ListPieces(ctx context.Context, r oapi.ListPiecesRequestObject) (oapi.ListPiecesResponseObject, error) {
	page, err := pageOf(ctx, r.Params.Limit, r.Params.Cursor)
	if err != nil {
		return nil, err
	}
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
	value, err := decodeStrict(text)
	if err != nil {
		return pieceLine{err: err}
	}
	id := ""
	if members, ok := value.(map[string]any); ok {
		id, _ = members["id"].(string)
	}
	schema, err := s.contract.piece()
	if err != nil {
		return pieceLine{id: shorten(id), err: err}
	}
	if bad := schemaProblems(schema, value, "#"); len(bad) > 0 {
		return pieceLine{id: shorten(id), err: badFields(bad)}
	}
	var w oapi.PieceInput
	if err := runtime.BindJSONValue(value, &w); err != nil {
		return pieceLine{id: id, err: malformed("a number is too large for its field")}
	}
	return pieceLine{id: id, piece: pieceFromWire(w)}
}
