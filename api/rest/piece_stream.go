package rest

import (
	"bufio"
	"context"
	"encoding/json"
	"net/http"
	"time"

	"github.com/labstack/echo/v4"
	"golang.org/x/sync/semaphore"

	"barrelbook/api/oapi"
)

const (
	// groupSize is how many lines are stored in one transaction at most.
	groupSize = 500
	// A sender who waits for the answer before the next line is not made to wait
	// for a full group: one is stored when no line has come for linePause, and
	// groupPause after its first line in any case.
	linePause  = 100 * time.Millisecond
	groupPause = 2 * time.Second
	// writeIdle is how long a caller may leave an answer unread.
	writeIdle = 2 * time.Minute
	// groupBytes is how much text of lines a group holds at most, and, beside a
	// line, how much is read ahead of it: what a stream may make the service hold.
	groupBytes = 1 << 20
	// namedRefusals bounds the line numbers repeated in the summary.
	namedRefusals = 1000
)

// ImportPieces answers while it reads: the response streams from its own Visit.
func (s *Server) ImportPieces(ctx context.Context, r oapi.ImportPiecesRequestObject) (oapi.ImportPiecesResponseObject, error) {
	lines := &lineReader{server: s, from: bufio.NewReaderSize(r.Body, 64<<10), to: make(chan numbered, groupSize), done: make(chan struct{}),
		held: semaphore.NewWeighted(2 * groupBytes)}
	return &pieceImport{server: s, ctx: ctx, lines: lines}, nil
}

// openLines readies a connection for a body that is read while it is answered:
// without full duplex net/http would read the whole body before the first line
// of the answer. How long a stream may stand still is watched where the next
// line is waited for, so that the time a group takes to store is not counted.
// Where the transport knows no deadlines, as in an embedded service, the calls
// do nothing.
func openLines(c echo.Context) {
	control := http.NewResponseController(c.Response())
	_ = control.EnableFullDuplex()
	_ = control.SetReadDeadline(time.Time{})
	_ = control.SetWriteDeadline(time.Time{})
}

// pieceImport is one stream of lines under way.
type pieceImport struct {
	server  *Server
	ctx     context.Context
	lines   *lineReader
	summary oapi.PieceImportSummary
}

// VisitImportPiecesResponse stores lines in groups as they come, and answers
// each line in order, then the summary.
func (p *pieceImport) VisitImportPiecesResponse(w http.ResponseWriter) error {
	control := http.NewResponseController(w)
	ctx, stop := context.WithCancel(p.ctx)
	p.ctx = ctx
	go p.lines.read(ctx, stop)
	go watchSender(ctx, stop)
	ended := false
	defer func() {
		stop()
		if !ended {
			_ = control.SetReadDeadline(time.Now()) // wakes a reader that still waits
		}
	}()
	p.summary.Summary = true
	w.Header().Set("Content-Type", linesMedia)
	w.WriteHeader(http.StatusOK)
	out := bufio.NewWriter(w)
	answers := json.NewEncoder(out)
	for {
		group, more := p.lines.group(ctx, p.server.options.StreamIdle)
		ended = !more && p.lines.ended()
		stored := p.store(group)
		p.lines.release(group)
		if ctx.Err() != nil {
			return nil // the sender has left; what was not stored is sent again
		}
		_ = control.SetWriteDeadline(time.Now().Add(writeIdle))
		for _, answer := range stored {
			if err := answers.Encode(answer); err != nil {
				return err
			}
		}
		if !more {
			return p.end(out, answers)
		}
		if err := out.Flush(); err != nil {
			return err
		}
		_ = control.Flush()
		_ = control.SetWriteDeadline(time.Time{})
	}
}

// end writes the summary after the last line. A stream that was cut has none:
// whoever reads the answer sees that it is not complete, and sending again is
// harmless.
func (p *pieceImport) end(out *bufio.Writer, answers *json.Encoder) error {
	if p.lines.ended() {
		p.summary.LineCount = p.lines.count
		if err := answers.Encode(p.summary); err != nil {
			return err
		}
	}
	return out.Flush()
}
