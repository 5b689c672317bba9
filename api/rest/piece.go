package rest

import (
	"bufio"
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"io"
	"net/http"
	"time"

	"github.com/labstack/echo/v4"

	"barrelbook/api/app/record"
	"barrelbook/api/oapi"
	"barrelbook/domain/mill"
)

const (
	// groupSize is how many lines are stored in one transaction.
	groupSize = 500
	// longestLine bounds one line. A piece of 60 passes is some 15 kB.
	longestLine = 1 << 20
	// groupBytes is how much text of lines a group holds at most, and so what a
	// stream may make the service hold.
	groupBytes = 1 << 20
	// streamIdle is how long a stream may stand still before it is cut.
	streamIdle = 2 * time.Minute
	// namedRefusals bounds the line numbers repeated in the summary.
	namedRefusals = 1000
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

// ImportPieces answers while it reads: the response streams from its own Visit.
func (s *Server) ImportPieces(ctx context.Context, r oapi.ImportPiecesRequestObject) (oapi.ImportPiecesResponseObject, error) {
	return &pieceImport{server: s, ctx: ctx, lines: bufio.NewReaderSize(r.Body, 64<<10)}, nil
}

// openLines readies a connection for a body that is read while it is answered:
// without full duplex net/http would read the whole body before the first line
// of the answer. Where the transport knows no such thing, as in tests and in an
// embedded service, the calls do nothing.
func openLines(c echo.Context) {
	control := http.NewResponseController(c.Response())
	_ = control.EnableFullDuplex()
	keepStreaming(control)
}

func keepStreaming(control *http.ResponseController) {
	_ = control.SetReadDeadline(time.Now().Add(streamIdle))
	_ = control.SetWriteDeadline(time.Now().Add(streamIdle))
}

// pieceImport is one stream of lines under way.
type pieceImport struct {
	server  *Server
	ctx     context.Context
	lines   *bufio.Reader
	summary oapi.PieceImportSummary
}

// pieceLine is one line as read: a piece, or why it is none.
type pieceLine struct {
	piece mill.Piece
	id    string
	err   error
}

// VisitImportPiecesResponse reads groups of lines, stores each, and answers
// each line in order, then the summary.
func (p *pieceImport) VisitImportPiecesResponse(w http.ResponseWriter) error {
	p.summary.Summary = true
	w.Header().Set("Content-Type", linesMedia)
	w.WriteHeader(http.StatusOK)
	out := bufio.NewWriter(w)
	answers := json.NewEncoder(out)
	control := http.NewResponseController(w)
	for {
		keepStreaming(control)
		group, readErr := p.readGroup()
		for _, answer := range p.store(group) {
			if err := answers.Encode(answer); err != nil {
				return err
			}
		}
		if readErr != nil && readErr != io.EOF {
			// The sender broke off. No summary: whoever reads the answer sees that
			// it is not complete, and sending again is harmless.
			return out.Flush()
		}
		if readErr == io.EOF {
			if err := answers.Encode(p.summary); err != nil {
				return err
			}
			return out.Flush()
		}
		if err := out.Flush(); err != nil {
			return err
		}
		_ = control.Flush()
	}
}

// readGroup reads up to groupSize lines. Blank lines are counted and passed
// over, as a file's last line may be one.
func (p *pieceImport) readGroup() ([]numbered, error) {
	var group []numbered
	size := 0
	for len(group) < groupSize && size < groupBytes {
		text, tooLong, err := readLine(p.lines)
		if err != nil && (err != io.EOF || len(text) == 0 && !tooLong) {
			return group, err
		}
		size += len(text)
		p.summary.LineCount++
		if tooLong {
			group = append(group, numbered{p.summary.LineCount, pieceLine{err: malformed("the line is longer than %d bytes", longestLine)}})
		} else if len(bytes.TrimSpace(text)) > 0 {
			group = append(group, numbered{p.summary.LineCount, p.server.readPiece(text)})
		}
		if err == io.EOF {
			return group, err
		}
	}
	return group, nil
}

// numbered is a line with its number, from 1.
type numbered struct {
	number int64
	pieceLine
}

// readLine reads one line without its end. A longer one than allowed is read
// to its end and dropped, so that the lines after it can be taken.
func readLine(r *bufio.Reader) (line []byte, tooLong bool, err error) {
	for {
		part, err := r.ReadSlice('\n')
		if !tooLong {
			line = append(line, part...)
		}
		if len(line) > longestLine {
			line, tooLong = nil, true
		}
		if !errors.Is(err, bufio.ErrBufferFull) {
			return line, tooLong, err
		}
	}
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

// store keeps the good lines of a group in one transaction and answers for all.
func (p *pieceImport) store(group []numbered) []oapi.PieceLineAnswer {
	var pieces []mill.Piece
	for _, l := range group {
		if l.err == nil {
			pieces = append(pieces, l.piece)
		}
	}
	var results []record.PieceAnswer
	var failed error
	if len(pieces) > 0 {
		results, failed = p.server.app.ImportPieces(p.ctx, call(p.ctx, nil, nil), pieces)
	}
	answers := make([]oapi.PieceLineAnswer, 0, len(group))
	for _, l := range group {
		result := record.PieceAnswer{Status: record.PieceRefused, Err: l.err}
		switch {
		case l.err == nil && failed != nil:
			result.Err = failed
		case l.err == nil:
			result, results = results[0], results[1:]
		}
		answers = append(answers, p.answer(l, result))
	}
	return answers
}

// answer is the line of the answer for one line, counted into the summary.
func (p *pieceImport) answer(l numbered, result record.PieceAnswer) oapi.PieceLineAnswer {
	w := oapi.PieceLineAnswer{Line: l.number, Id: optional(l.id), Status: oapi.PieceLineAnswerStatus(result.Status), Warnings: some(result.Warnings)}
	p.server.metrics.pieces.WithLabelValues(string(result.Status)).Inc()
	switch result.Status {
	case record.PieceStored:
		p.summary.StoredCount++
	case record.PieceDuplicate:
		p.summary.DuplicateCount++
	default:
		p.summary.RefusedCount++
		problem := p.server.problem(p.ctx, result.Err)
		w.Problem = &problem
		if named := given(p.summary.RefusedLines); len(named) < namedRefusals {
			p.summary.RefusedLines = some(append(named, l.number))
		}
	}
	return w
}
