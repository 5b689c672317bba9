package rest

import (
	"context"
	"strings"
	"time"

	"barrelbook/api/app/tell"
	"barrelbook/api/oapi"
)

const eventStreamMedia = "text/event-stream"

// ListEvents gives what was recorded after a place, or streams it from there on.
func (s *Server) ListEvents(ctx context.Context, r oapi.ListEventsRequestObject) (oapi.ListEventsResponseObject, error) {
	p := r.Params
	page, err := pageOf(ctx, p.Limit, nil)
	if err != nil {
		return nil, err
	}
	q := tell.Question{Limit: page.Limit, Newest: given(p.From) == oapi.ListEventsParamsFromNow, Wait: min(time.Duration(given(p.WaitS))*time.Second, s.options.LongestWait)}
	if q.Kinds, err = eventKinds("type", p.Type); err != nil {
		return nil, err
	}
	q.Since = given(p.Since)
	if p.Mill != nil {
		q.Mills = []string{*p.Mill}
	}
	if q.After, err = eventPlace("Last-Event-ID", given(p.LastEventID)); err == nil && q.After == nil {
		q.After, err = eventPlace("after", given(p.After))
	}
	if err != nil {
		return nil, err
	}
	if strings.Contains(askedOf(ctx).accept, eventStreamMedia) {
		return s.openEvents(ctx, q)
	}
	ctx, cancel := s.untilDrained(ctx)
	defer cancel()
	events, upTo, err := s.app.Events(ctx, q)
	if err != nil {
		return nil, s.unlessDraining(err)
	}
	out := oapi.ListEvents200JSONResponse{Items: make([]oapi.Event, len(events)), Next: eventCursor(upTo)}
	for i, e := range events {
		if out.Items[i], err = s.eventToWire(e); err != nil {
			return nil, err
		}
	}
	return out, nil
}

// openEvents refuses what cannot be streamed before the stream begins.
func (s *Server) openEvents(ctx context.Context, q tell.Question) (oapi.ListEventsResponseObject, error) {
	q.Wait = 0
	events, upTo, err := s.app.Events(ctx, q)
	q.After = &upTo
	return &eventStream{server: s, ctx: ctx, question: q, first: events}, err
}

func (s *Server) unlessDraining(err error) error {
	if s.draining.Load() {
		return refuse(draining, "this instance stops; ask again with the same cursor")
	}
	return err
}

// untilDrained ends a context when this instance is to stop: whoever waits is
// answered, and asks another.
func (s *Server) untilDrained(ctx context.Context) (context.Context, context.CancelFunc) {
	ctx, cancel := context.WithCancel(ctx)
	go func() {
		select {
		case <-s.drained:
			cancel()
		case <-ctx.Done():
		}
	}()
	return ctx, cancel
}
