package embedded

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"math/rand/v2"
	"net/http"
	"net/http/httptest"
	"net/netip"
	"strconv"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"barrelbook/api/store/filetest"
	"barrelbook/api/store/pgtest"
	"barrelbook/api/webhook"
)

// receiver is who is sent events. It takes what is signed by its secret, once it
// has refused as many as it is to.
type receiver struct {
	t       *testing.T
	mu      sync.Mutex
	secret  string
	refuse  int
	subject []string
	tries   []string // ids
}

func (r *receiver) ServeHTTP(w http.ResponseWriter, q *http.Request) {
	r.mu.Lock()
	defer r.mu.Unlock()
	body, _ := io.ReadAll(q.Body)
	id := q.Header.Get("webhook-id")
	at, _ := strconv.ParseInt(q.Header.Get("webhook-timestamp"), 10, 64)
	if want, err := webhook.Sign(r.secret, id, time.Unix(at, 0), body); err != nil || q.Header.Get("webhook-signature") != want || q.Header.Get("Content-Type") != "application/cloudevents+json" {
		r.t.Errorf("signed %q, want %q", q.Header.Get("webhook-signature"), want)
	}
	r.tries = append(r.tries, id)
	if r.refuse > 0 {
		r.refuse--
		http.Error(w, "not now", http.StatusServiceUnavailable)
		return
	}
	var e struct{ Subject, Specversion string }
	if err := json.Unmarshal(body, &e); err != nil || e.Specversion != "1.0" {
		r.t.Errorf("sent: %s", body)
	}
	r.subject = append(r.subject, e.Subject)
}

func (r *receiver) got() (subjects, tries []string) {
	r.mu.Lock()
	defer r.mu.Unlock()
	return append([]string{}, r.subject...), append([]string{}, r.tries...)
}

// hooked is a service with a clock of its own that sends.
type hooked struct {
	t       *testing.T
	service *Service
	ahead   atomic.Int64
}

func openHooked(t *testing.T, database string, networks ...netip.Prefix) *hooked {
	t.Helper()
	h := &hooked{t: t}
	begun := time.Now()
	var err error
	h.service, err = Open(t.Context(), Options{Path: database, Volatile: true, Webhooks: len(networks) > 0, WebhookNetworks: networks,
		Now: func() time.Time { return begun.Add(time.Duration(h.ahead.Load())) }})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = h.service.Close() })
	return h
}

// later moves the clock on, and records what wakes those who send and is not sent.
func (h *hooked) later(d time.Duration) {
	h.t.Helper()
	h.ahead.Add(int64(d))
	h.ask("POST", "/v1/practices", fmt.Sprintf(`{"name":"p%d","scope":{},"values":{"normal_stock_mm":1}}`, h.ahead.Load()+rand.Int64N(1000)), 201)
}

// deliver sends until the test ends or the function is called.
func (h *hooked) deliver() (stop func()) {
	ctx, cancel := context.WithCancel(context.Background())
	var g sync.WaitGroup
	g.Go(func() { h.service.Deliver(ctx, func(err error) { h.t.Error(err) }) })
	stop = func() { cancel(); g.Wait() }
	h.t.Cleanup(stop)
	return stop
}

func (h *hooked) ask(method, path, body string, status int) map[string]any {
	h.t.Helper()
	r := httptest.NewRequest(method, path, bytes.NewReader([]byte(body)))
	if body != "" {
		r.Header.Set("Content-Type", "application/json")
	}
	w := httptest.NewRecorder()
	h.service.Handler().ServeHTTP(w, r)
	if w.Code != status {
		h.t.Fatalf("%s %s: %d %s", method, path, w.Code, w.Body)
	}
	var answer map[string]any
	if w.Body.Len() > 0 {
		if err := json.Unmarshal(w.Body.Bytes(), &answer); err != nil {
			h.t.Fatal(err)
		}
	}
	return answer
}

func (h *hooked) grade(name string) {
	h.t.Helper()
	h.ask("POST", "/v1/grades", fmt.Sprintf(`{"name":%q,"family":"cast_steel"}`, name), 201)
}

// state is the webhook as it is listed.
func (h *hooked) state() map[string]any {
	h.t.Helper()
	return h.ask("GET", "/v1/webhooks", "", 200)["items"].([]any)[0].(map[string]any)
}

func eventually(t *testing.T, what string, is func() bool) {
	t.Helper()
	for range 1000 {
		if is() {
			return
		}
		time.Sleep(10 * time.Millisecond)
	}
	t.Fatalf("it never came that %s", what)
}

// TestWebhooks sends in order, tries again with the same id after a while, stops
// after three days, goes on from there when it is resumed, and is told by one of
// two processes only.
func TestWebhooks(t *testing.T) {
	for name, database := range map[string]string{"file": filetest.Path(t), "postgresql": pgtest.DSN(t)} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			to := &receiver{t: t}
			server := httptest.NewServer(to)
			defer server.Close()
			h := openHooked(t, database, netip.MustParsePrefix("127.0.0.0/8"))
			h.grade("BEFORE")
			made := h.ask("POST", "/v1/webhooks", fmt.Sprintf(`{"name":"erp","url":%q,"types":["grade","mill.added"]}`, server.URL), 201)
			to.secret = made["secret"].(string)
			to.refuse = 2
			stop := h.deliver()
			second := openHooked(t, database, netip.MustParsePrefix("127.0.0.0/8"))
			second.deliver()
			h.grade("G1")
			h.ask("POST", "/v1/stands", `{"name":"X","mill":"no","order":1,"arrangement":"two_high"}`, 422)
			h.grade("G2")
			eventually(t, "it failed once", func() bool { return h.state()["tried_count"] == 1.0 })
			if s := h.state(); !strings.Contains(s["failure"].(string), "503") || s["due_at"] == nil || s["behind_count"].(float64) < 1 || strings.Contains(fmt.Sprint(s), to.secret) {
				t.Errorf("after a failure: %v", s)
			}
			h.later(7 * time.Second)
			second.later(7 * time.Second)
			eventually(t, "it failed twice", func() bool { return h.state()["tried_count"] == 2.0 })
			h.later(2 * time.Minute)
			second.later(2 * time.Minute)
			eventually(t, "it was told", func() bool { return h.state()["sent_count"] == 2.0 })
			subjects, tries := to.got()
			if fmt.Sprint(subjects) != "[grades/G1 grades/G2]" || len(tries) != 4 || tries[0] != tries[1] || tries[1] != tries[2] || tries[2] == tries[3] {
				t.Errorf("told %v in tries %v", subjects, tries)
			}
			if s := h.state(); s["tried_count"] != nil || s["failure"] == nil {
				t.Errorf("after it was told: %v", s)
			}
			stop() // the other goes on
			to.mu.Lock()
			to.refuse = 1000
			to.mu.Unlock()
			h.grade("G3")
			for range 20 {
				tried := h.state()["tried_count"]
				h.later(30 * time.Hour)
				second.later(30 * time.Hour)
				if eventually(t, "it was tried", func() bool { s := h.state(); return s["tried_count"] != tried || s["stopped_at"] != nil }); h.state()["stopped_at"] != nil {
					break
				}
			}
			if _, tries := to.got(); h.state()["stopped_at"] == nil || len(tries) != 4+11 {
				t.Errorf("it was tried %d times: %v", len(tries), h.state())
			}
			to.mu.Lock()
			to.refuse = 0
			to.mu.Unlock()
			h.ask("POST", "/v1/webhooks/erp/resumptions", "", 200)
			eventually(t, "it went on", func() bool { return h.state()["sent_count"] == 3.0 })
			h.ask("DELETE", "/v1/webhooks/erp", "", 204)
			h.ask("POST", "/v1/webhooks/erp/resumptions", "", 404)
			if err := h.service.Verify(t.Context()); err != nil {
				t.Error(err)
			}
		})
	}
}

// TestWebhooksAreRefused: off where nobody turned them on, and never to the
// machine's own networks unasked.
func TestWebhooksAreRefused(t *testing.T) {
	off := openHooked(t, filetest.Path(t))
	if no := off.ask("POST", "/v1/webhooks", `{"name":"a","url":"https://erp.example/"}`, 409); !strings.Contains(no["detail"].(string), "setting webhooks") {
		t.Errorf("off: %v", no)
	}
	on := openHooked(t, filetest.Path(t), netip.MustParsePrefix("10.1.0.0/16"))
	for _, url := range []string{"https://127.0.0.1/", "https://[::1]/", "https://192.168.0.1/", "ftp://x.example/", "https://me@x.example/"} {
		on.ask("POST", "/v1/webhooks", fmt.Sprintf(`{"name":"a","url":%q}`, url), 422)
	}
	on.ask("POST", "/v1/webhooks", `{"name":"a","url":"https://x.example/","types":["nothing"]}`, 400)
	on.ask("POST", "/v1/webhooks", `{"name":"a","url":"https://localhost:1/"}`, 201) // a name: looked at when it is dialled
	on.deliver()
	on.grade("G")
	eventually(t, "it failed", func() bool { return on.state()["failure"] != nil })
	if failure := on.state()["failure"].(string); !strings.Contains(failure, "is not a public address") {
		t.Errorf("the failure: %s", failure)
	}
}
