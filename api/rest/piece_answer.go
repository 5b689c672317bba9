package rest

import (
	"barrelbook/api/app/record"
	"barrelbook/api/oapi"
	"barrelbook/domain/mill"
)

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
	if p.ctx.Err() != nil {
		return nil // there is nobody to answer
	}
	answers := make([]oapi.PieceLineAnswer, 0, len(group))
	for _, l := range group {
		result := record.PieceAnswer{Status: record.PieceRefused, Err: l.err}
		switch {
		case l.err == nil && failed != nil:
			// It is not the piece that is at fault: it is to be sent again.
			result = record.PieceAnswer{Status: pieceFailed, Err: failed}
		case l.err == nil:
			result, results = results[0], results[1:]
		}
		answers = append(answers, p.answer(l, result))
	}
	return answers
}

// pieceFailed is the status of a piece that the service could not store.
const pieceFailed record.PieceStatus = "failed"

// answer is the line of the answer for one line, counted into the summary.
func (p *pieceImport) answer(l numbered, result record.PieceAnswer) oapi.PieceLineAnswer {
	w := oapi.PieceLineAnswer{Line: l.number, Id: optional(l.id), Status: oapi.PieceLineAnswerStatus(result.Status), Warnings: some(result.Warnings)}
	p.server.metrics.pieces.WithLabelValues(string(result.Status)).Inc()
	switch result.Status {
	case record.PieceStored:
		p.summary.StoredCount++
		return w
	case record.PieceDuplicate:
		p.summary.DuplicateCount++
		return w
	case pieceFailed:
		p.summary.FailedCount++
		p.summary.FailedLines = withLine(p.summary.FailedLines, l.number)
	default:
		p.summary.RefusedCount++
		p.summary.RefusedLines = withLine(p.summary.RefusedLines, l.number)
	}
	problem := p.server.problem(p.ctx, result.Err)
	w.Problem = &problem
	return w
}

// withLine adds a line's number to those named in the summary, up to a bound.
func withLine(named *[]int64, number int64) *[]int64 {
	if lines := given(named); len(lines) < namedRefusals {
		return some(append(lines, number))
	}
	return named
}
