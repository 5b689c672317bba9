package rest

import (
	"bufio"
	"context"
	"encoding/json"
	"fmt"
	"net/http"
	"time"

	"barrelbook/api/app/port"
	"barrelbook/api/app/tell"
)

const (
	// streamPause is how long a stream of events says nothing at most: proxies cut
	// what stands still for longer.
	streamPause = 15 * time.Second
	// streamRetry is how soon a client that was cut off comes again.
	streamRetry = 2 * time.Second
)

// eventStream writes events as they come, in the form of server-sent events,
// until the client leaves or this instance stops.
type eventStream struct {
	server   *Server
	ctx      context.Context
	question tell.Question
	first    []port.Event
}

// VisitListEventsResponse implements oapi.ListEventsResponseObject.
func (e *eventStream) VisitListEventsResponse(w http.ResponseWriter) error {
	ctx, end := e.server.untilDrained(e.ctx)
	defer end()
	control := http.NewResponseController(w)
	w.Header().Set("Content-Type", eventStreamMedia)
	w.Header().Set("X-Accel-Buffering", "no") // proxies that gather answers
	w.WriteHeader(http.StatusOK)
	out := bufio.NewWriter(w)
	fmt.Fprintf(out, "retry: %d\n\n", streamRetry.Milliseconds())
	e.question.Wait = min(streamPause, e.server.options.LongestWait)
	for events := e.first; ; {
		_ = control.SetWriteDeadline(time.Now().Add(writeIdle))
		if err := e.write(out, events); err != nil {
			return err
		}
		_ = control.Flush()
		_ = control.SetWriteDeadline(time.Time{})
		var upTo port.EventPlace
		var err error
		if events, upTo, err = e.server.app.Events(ctx, e.question); err != nil {
			return nil // the client has left, or comes again with what it has read
		}
		e.question.After = &upTo
	}
}

// write writes events, and after them how far was looked: a client that follows a
// few types does not fall behind.
func (e *eventStream) write(out *bufio.Writer, events []port.Event) error {
	for _, event := range events {
		wire, err := e.server.eventToWire(event)
		if err != nil {
			return err
		}
		text, err := json.Marshal(wire)
		if err != nil {
			return err
		}
		// Without a name of its own: the type is in the data, and a reader has one
		// place where all arrive.
		fmt.Fprintf(out, "id: %s\ndata: %s\n\n", wire.Cursor, text)
	}
	fmt.Fprintf(out, "id: %s\n\n", eventCursor(*e.question.After))
	return out.Flush()
}
