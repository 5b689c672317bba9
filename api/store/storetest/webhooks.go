package storetest

import (
	"testing"
	"time"

	"barrelbook/api/app/port"
)

// testWebhooks keeps how far somebody was told, written by who has the lease alone.
func testWebhooks(t *testing.T, s Store) {
	h := port.Webhook{Name: "erp", URL: "https://erp.invalid/in", Secret: "whsec_x", Kinds: []string{"entry", "change.recorded"}, Mill: "HSM", CreatedAt: day, CreatedBy: "me",
		WebhookState: port.WebhookState{Place: port.EventPlace{Position: 3, At: day}}}
	write(t, s, func(w port.Writer) error { return w.CreateWebhook(h) })
	refused(t, s, port.Conflicting, func(w port.Writer) error { return w.CreateWebhook(h) })
	kept := func() port.Webhook {
		t.Helper()
		var got port.Webhook
		read(t, s, func(r port.Reader) (err error) { got, err = r.Webhook("erp"); return err })
		return got
	}
	same(t, "as made", kept(), h)
	lease := func(by string, now, until time.Time) (got bool) {
		t.Helper()
		write(t, s, func(w port.Writer) (err error) { got, err = w.LeaseWebhook("erp", by, now, until); return err })
		return got
	}
	put := func(by string, state port.WebhookState, until time.Time) (got bool) {
		t.Helper()
		write(t, s, func(w port.Writer) (err error) { got, err = w.PutWebhookState("erp", by, state, until); return err })
		return got
	}
	if !lease("a", day, hours(1)) || !lease("a", day, hours(2)) || lease("b", hours(1), hours(3)) || !lease("b", hours(2), hours(3)) {
		t.Error("a lease was given to two, or to nobody")
	}
	told := port.WebhookState{Place: port.EventPlace{Position: 9, At: hours(1)}, Tries: 2, DueAt: hours(5), Sent: 6, SentAt: hours(1), FailedAt: hours(2), Failure: "500", StoppedAt: hours(4)}
	if put("a", port.WebhookState{}, time.Time{}) || !put("b", told, hours(3)) || lease("a", hours(2.5), hours(4)) || !put("b", told, time.Time{}) || !lease("a", hours(2.5), hours(4)) {
		t.Error("the state was written without a lease, or could not be with one")
	}
	h.WebhookState = told
	same(t, "told", kept(), h)
	write(t, s, func(w port.Writer) error { return w.ResumeWebhook("erp") })
	h.Tries, h.DueAt, h.StoppedAt = 0, time.Time{}, time.Time{}
	same(t, "resumed", kept(), h)
	refused(t, s, port.NotFound, func(w port.Writer) error { return w.ResumeWebhook("no") })
	refused(t, s, port.NotFound, func(w port.Writer) error { return w.DeleteWebhook("no") })
	read(t, s, func(r port.Reader) error {
		all, more, err := r.Webhooks(port.Page{Limit: 5})
		if len(all) != 1 || more != "" {
			t.Errorf("the list: %v %q", all, more)
		}
		return err
	})
	write(t, s, func(w port.Writer) error { return w.DeleteWebhook("erp") })
	if err := s.Read(t.Context(), func(r port.Reader) error { _, err := r.Webhook("erp"); return err }); !port.IsKind(err, port.NotFound) {
		t.Errorf("after it was deleted: %v", err)
	}
	if err := s.Verify(t.Context()); err != nil {
		t.Error(err)
	}
}
