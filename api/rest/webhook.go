package rest

import (
	"context"
	"encoding/json"
	"strings"

	"barrelbook/api/app/port"
	"barrelbook/api/app/tell"
	"barrelbook/api/oapi"
)

// ListWebhooks lists who is sent events, without their secrets.
func (s *Server) ListWebhooks(ctx context.Context, r oapi.ListWebhooksRequestObject) (oapi.ListWebhooksResponseObject, error) {
	page, err := pageOf(ctx, r.Params.Limit, r.Params.Cursor)
	if err != nil {
		return nil, err
	}
	items, newest, next, err := s.app.Webhooks(ctx, page)
	if err != nil {
		return nil, err
	}
	return oapi.ListWebhooks200JSONResponse{Next: nextOf(ctx, next), Items: each(items, func(h port.Webhook) oapi.Webhook { return webhookToWire(h, newest) })}, nil
}

// CreateWebhook makes a webhook and shows its secret this once.
func (s *Server) CreateWebhook(ctx context.Context, r oapi.CreateWebhookRequestObject) (oapi.CreateWebhookResponseObject, error) {
	in, err := webhookFromWire(*r.Body)
	if err != nil {
		return nil, err
	}
	h, err := s.app.CreateWebhook(ctx, call(ctx, nil, nil), in)
	if err != nil {
		return nil, err
	}
	return oapi.CreateWebhook201JSONResponse{Webhook: webhookToWire(h, h.Place), Secret: h.Secret}, nil
}

// DeleteWebhook ends a webhook.
func (s *Server) DeleteWebhook(ctx context.Context, r oapi.DeleteWebhookRequestObject) (oapi.DeleteWebhookResponseObject, error) {
	if err := s.app.DeleteWebhook(ctx, call(ctx, nil, nil), r.Webhook); err != nil {
		return nil, err
	}
	return oapi.DeleteWebhook204Response{}, nil
}

// ResumeWebhook takes up a webhook that was stopped.
func (s *Server) ResumeWebhook(ctx context.Context, r oapi.ResumeWebhookRequestObject) (oapi.ResumeWebhookResponseObject, error) {
	h, newest, err := s.app.ResumeWebhook(ctx, call(ctx, nil, nil), r.Webhook)
	if err != nil {
		return nil, err
	}
	return oapi.ResumeWebhook200JSONResponse(webhookToWire(h, newest)), nil
}

func webhookFromWire(w oapi.WebhookInput) (tell.WebhookInput, error) {
	in := tell.WebhookInput{Name: w.Name, URL: w.Url, Mill: given(w.Mill)}
	if types := given(w.Types); len(types) > 0 {
		list := strings.Join(types, ",")
		var err error
		if in.Kinds, err = eventKinds("#/types", &list); err != nil {
			return in, err
		}
	}
	return in, nil
}

func webhookToWire(h port.Webhook, newest port.EventPlace) oapi.Webhook {
	return oapi.Webhook{Name: h.Name, Url: h.URL, Types: some(h.Kinds), Mill: optional(h.Mill), CreatedAt: h.CreatedAt.UTC(), CreatedBy: h.CreatedBy, SentCount: h.Sent, SentAt: when(h.SentAt),
		BehindCount: newest.Position - h.Place.Position, FailedAt: when(h.FailedAt), Failure: optional(h.Failure), TriedCount: optional(int64(h.Tries)), DueAt: when(h.DueAt), StoppedAt: when(h.StoppedAt)}
}

// EventJSON writes an event as it is sent to those who asked for it.
func (s *Server) EventJSON(e port.Event) ([]byte, error) {
	w, err := s.eventToWire(e)
	if err != nil {
		return nil, err
	}
	return json.Marshal(w)
}
