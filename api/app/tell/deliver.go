package tell

import (
	"context"
	"math/rand/v2"
	"sync"
	"time"

	"barrelbook/api/app/port"
)

const (
	// lease is for how long one process has a webhook for itself: longer than a try
	// may take.
	lease = time.Minute
	// atOnce is how many events are read at a time.
	atOnce = 100
	// passedOver is how many events that it was not to be told a webhook may be behind
	// before that is written down, and behind how long: what is behind keeps nothing
	// from being dropped.
	passedOver = 200
	behind     = time.Hour
)

// SetSender lets webhooks be made, and says who sends and by which name of this
// process.
func (t *Teller) SetSender(s port.Sender, by string) { t.sender, t.by = s, by }

// Deliver sends events to webhooks until ctx ends. Of processes on one database one
// sends to each webhook at a time. Encode writes an event as it is sent; fault is
// told of failures of our own.
func (t *Teller) Deliver(ctx context.Context, encode func(port.Event) ([]byte, error), fault func(error)) {
	var busy sync.Map
	var under sync.WaitGroup
	defer under.Wait()
	done := make(chan struct{}, 1)
	for ctx.Err() == nil {
		news := t.store.Recorded()
		due, err := t.due(ctx)
		if err != nil && ctx.Err() == nil {
			fault(err)
		}
		for _, h := range due {
			if _, already := busy.LoadOrStore(h.Name, true); already {
				continue
			}
			under.Go(func() {
				defer func() {
					busy.Delete(h.Name)
					select {
					case done <- struct{}{}:
					default:
					}
				}()
				if err := t.deliverTo(ctx, h.Name, encode); err != nil && ctx.Err() == nil {
					fault(err)
				}
			})
		}
		select {
		case <-news:
		case <-done:
		case <-time.After(poll):
		case <-ctx.Done():
		}
	}
}

// due are the webhooks that have something to be told now.
func (t *Teller) due(ctx context.Context) (due []port.Webhook, err error) {
	if err := t.store.OrderEvents(ctx); err != nil {
		return nil, err
	}
	now := t.clock.Now()
	err = t.store.Read(ctx, func(r port.Reader) error {
		all, err := port.Drain(r.Webhooks)
		if err != nil || len(all) == 0 {
			return err
		}
		_, newest, err := r.EventSpan()
		for _, h := range all {
			if h.StoppedAt.IsZero() && !h.DueAt.After(now) && h.Place.Position != newest.Position {
				due = append(due, h)
			}
		}
		return err
	})
	return due, err
}

// deliverTo sends one webhook some of what it has not been told.
func (t *Teller) deliverTo(ctx context.Context, name string, encode func(port.Event) ([]byte, error)) error {
	h, events, upTo, err := t.untold(ctx, name)
	switch {
	case port.IsKind(err, port.Gone):
		return t.stop(ctx, h, err)
	case err != nil:
		return err
	case len(events) == 0 && upTo.Position-h.Place.Position < passedOver && upTo.At.Sub(h.Place.At) < behind:
		return nil
	}
	mine := false
	err = t.store.Write(ctx, func(w port.Writer) error {
		now, err := t.clock.In(w)
		if err != nil {
			return err
		}
		if mine, err = w.LeaseWebhook(name, t.by, now, now.Add(lease)); err != nil || !mine {
			return err
		}
		again, err := w.Webhook(name)
		if err != nil {
			return err
		}
		// Another may have told it meanwhile, or failed to.
		if mine = again.Place == h.Place && again.StoppedAt.IsZero() && !again.DueAt.After(now); !mine {
			_, err = w.PutWebhookState(name, t.by, again.WebhookState, time.Time{})
		}
		h = again
		return err
	})
	if err != nil || !mine {
		return err
	}
	for _, e := range events {
		more, err := t.sendOne(ctx, &h, e, encode)
		if err != nil || !more {
			return err
		}
	}
	if len(events) < atOnce {
		h.Place = upTo
	}
	_, err = t.put(ctx, h, false)
	return err
}

func (t *Teller) untold(ctx context.Context, name string) (h port.Webhook, events []port.Event, upTo port.EventPlace, err error) {
	err = t.store.Read(ctx, func(r port.Reader) error {
		if h, err = r.Webhook(name); err != nil {
			return err
		}
		f := port.EventFilter{Kinds: h.Kinds}
		if h.Mill != "" {
			f.Mills = []string{h.Mill}
		}
		events, upTo, err = r.Events(f, h.Place, atOnce)
		return err
	})
	return h, events, upTo, err
}

// sendOne tries one event and writes down what came of it. More is false when the
// next must wait.
func (t *Teller) sendOne(ctx context.Context, h *port.Webhook, e port.Event, encode func(port.Event) ([]byte, error)) (more bool, err error) {
	body, err := encode(e)
	if err != nil {
		return false, err
	}
	now := t.clock.Now()
	why := t.sender.Send(ctx, port.Delivery{URL: h.URL, Secret: h.Secret, ID: e.MessageID(), At: now, Body: body})
	if ctx.Err() != nil {
		return false, ctx.Err() // sent again by the next, with the same id
	}
	now = t.clock.Now()
	if why != nil {
		h.WebhookState = failed(h.WebhookState, why, now, rand.Float64())
	} else {
		h.WebhookState = told(h.WebhookState, e.EventPlace, now)
	}
	mine, err := t.put(ctx, *h, why == nil)
	return mine && why == nil, err
}

// put writes how far a webhook was told, and holds it on or lets it go.
func (t *Teller) put(ctx context.Context, h port.Webhook, hold bool) (mine bool, err error) {
	err = t.store.Write(ctx, func(w port.Writer) error {
		until := time.Time{}
		if hold {
			until = t.clock.Now().Add(lease)
		}
		mine, err = w.PutWebhookState(h.Name, t.by, h.WebhookState, until)
		return err
	})
	return mine, err
}

// stop ends a webhook that events were dropped before it was told.
func (t *Teller) stop(ctx context.Context, h port.Webhook, why error) error {
	return t.store.Write(ctx, func(w port.Writer) error {
		now, err := t.clock.In(w)
		if err != nil {
			return err
		}
		if mine, err := w.LeaseWebhook(h.Name, t.by, now, now.Add(lease)); err != nil || !mine {
			return err
		}
		h.StoppedAt, h.FailedAt, h.Failure = now, now, why.Error()
		_, err = w.PutWebhookState(h.Name, t.by, h.WebhookState, time.Time{})
		return err
	})
}
