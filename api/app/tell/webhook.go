package tell

import (
	"context"
	"crypto/rand"
	"encoding/base64"
	"fmt"
	"time"

	"barrelbook/api/app/port"
	"barrelbook/domain/refusal"
)

// WebhookInput asks for somebody to be sent events.
type WebhookInput struct {
	Name  string
	URL   string
	Kinds []string
	Mill  string
}

// CreateWebhook lets somebody be sent what is recorded from now on. Conflicting
// when the name is taken or this service sends nothing, Impossible when the address
// cannot be one to send to. The secret is given in this answer alone.
func (t *Teller) CreateWebhook(ctx context.Context, call port.Call, in WebhookInput) (port.Webhook, error) {
	if t.sender == nil {
		return port.Webhook{}, port.Fail(port.Conflicting, "this service sends no webhooks; whoever runs it turns them on by the setting webhooks")
	}
	if err := t.sender.MaySend(in.URL); err != nil {
		return port.Webhook{}, port.Refused(refusal.One("url", in.URL, err.Error(), ""))
	}
	if err := t.store.OrderEvents(ctx); err != nil {
		return port.Webhook{}, err
	}
	key := make([]byte, 32)
	rand.Read(key) // never fails since Go 1.24
	h := port.Webhook{Name: in.Name, URL: in.URL, Secret: port.WebhookSecretPrefix + base64.StdEncoding.EncodeToString(key), Kinds: in.Kinds, Mill: in.Mill, CreatedBy: call.Actor}
	err := t.change(ctx, call, "made webhook "+in.Name, func(w port.Writer, now time.Time) error {
		h.CreatedAt = now
		_, newest, err := w.EventSpan()
		if err != nil {
			return err
		}
		h.Place = newest
		return w.CreateWebhook(h)
	})
	return h, err
}

// Webhooks lists who is sent events, how far each was told, and the newest event.
func (t *Teller) Webhooks(ctx context.Context, p port.Page) (items []port.Webhook, newest port.EventPlace, next string, err error) {
	err = t.store.Read(ctx, func(r port.Reader) error {
		if _, newest, err = r.EventSpan(); err != nil {
			return err
		}
		items, next, err = r.Webhooks(p)
		return err
	})
	return items, newest, next, err
}

// DeleteWebhook ends it. NotFound when there is none of the name.
func (t *Teller) DeleteWebhook(ctx context.Context, call port.Call, name string) error {
	return t.change(ctx, call, "removed webhook "+name, func(w port.Writer, _ time.Time) error { return w.DeleteWebhook(name) })
}

// ResumeWebhook takes up one that was stopped where it was. NotFound when there is
// none of the name; Gone when events that it has not been told are not kept any
// more.
func (t *Teller) ResumeWebhook(ctx context.Context, call port.Call, name string) (h port.Webhook, newest port.EventPlace, err error) {
	err = t.change(ctx, call, "resumed webhook "+name, func(w port.Writer, _ time.Time) error {
		if h, err = w.Webhook(name); err != nil {
			return err
		}
		if _, _, err = w.Events(port.EventFilter{}, h.Place, 1); err != nil {
			return err
		}
		if _, newest, err = w.EventSpan(); err != nil {
			return err
		}
		if err := w.ResumeWebhook(name); err != nil {
			return err
		}
		h, err = w.Webhook(name)
		return err
	})
	return h, newest, err
}

func (t *Teller) change(ctx context.Context, call port.Call, what string, do func(port.Writer, time.Time) error) error {
	return t.store.Write(ctx, func(w port.Writer) error {
		now, err := t.clock.In(w)
		if err != nil {
			return err
		}
		if err := do(w, now); err != nil {
			return err
		}
		return w.WriteAudit(call.Audit(now, what))
	})
}

// backoff are the waits after each failed try of an event: about three days in all,
// as Standard Webhooks recommends. After the last the webhook is stopped.
var backoff = []time.Duration{5 * time.Second, time.Minute, 5 * time.Minute, 30 * time.Minute, 2 * time.Hour, 5 * time.Hour, 10 * time.Hour, 14 * time.Hour, 20 * time.Hour, 24 * time.Hour}

// told is the state after an event was taken.
func told(s port.WebhookState, e port.EventPlace, now time.Time) port.WebhookState {
	s.Place, s.Tries, s.DueAt, s.SentAt = e, 0, time.Time{}, now
	s.Sent++
	return s
}

// failed is the state after a try that failed. Jitter is from 0 to below 1.
func failed(s port.WebhookState, why error, now time.Time, jitter float64) port.WebhookState {
	s.Failure, s.FailedAt = fmt.Sprintf("try %d: %s", s.Tries+1, shortened(why.Error())), now
	if s.Tries >= len(backoff) {
		s.StoppedAt = now
		s.Failure += "; no more is sent until it is resumed"
		return s
	}
	wait := backoff[s.Tries]
	s.Tries++
	s.DueAt = now.Add(wait + time.Duration(jitter*0.2*float64(wait)))
	return s
}

func shortened(text string) string {
	const most = 300
	if len(text) > most {
		return text[:most] + " …"
	}
	return text
}
