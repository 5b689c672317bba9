package conn

import (
	"context"
	"errors"
	"io"
	"net/http"
	"net/http/httptest"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"barrelbook/client/oapi"
)

// busy fails the first calls, and keeps what it was sent.
type busy struct {
	fails  int
	status int
	after  string
	calls  int
	keys   []string
	bodies []string
}

func (b *busy) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	b.calls++
	body, _ := io.ReadAll(r.Body)
	b.keys, b.bodies = append(b.keys, r.Header.Get("Idempotency-Key")), append(b.bodies, string(body))
	if b.calls <= b.fails {
		if b.after != "" {
			w.Header().Set("Retry-After", b.after)
		}
		problem(w, b.status, "busy", "busy")
		return
	}
	io.WriteString(w, `{}`)
}

func TestRetries(t *testing.T) {
	key := "k"
	for _, c := range []struct {
		name  string
		busy  busy
		call  func(context.Context, *Conn) (*http.Response, error)
		calls int
		ok    bool
	}{
		{"a reading is tried again", busy{fails: 2, status: 503}, func(ctx context.Context, c *Conn) (*http.Response, error) { return c.API.GetWorks(ctx) }, 3, true},
		{"too many requests too", busy{fails: 1, status: 429}, func(ctx context.Context, c *Conn) (*http.Response, error) { return c.API.GetWorks(ctx) }, 2, true},
		{"it is given up in the end", busy{fails: 99, status: 503}, func(ctx context.Context, c *Conn) (*http.Response, error) { return c.API.GetWorks(ctx) }, attempts, false},
		{"a conflict is not passing", busy{fails: 99, status: 409}, func(ctx context.Context, c *Conn) (*http.Response, error) { return c.API.GetWorks(ctx) }, 1, false},
		{"nor is a failure of the service", busy{fails: 99, status: 500}, func(ctx context.Context, c *Conn) (*http.Response, error) { return c.API.GetWorks(ctx) }, 1, false},
		{"a recording with a key is tried again", busy{fails: 1, status: 503}, func(ctx context.Context, c *Conn) (*http.Response, error) {
			return c.API.HoldRoll(ctx, "R", &oapi.HoldRollParams{IdempotencyKey: &key}, oapi.ReasonInput{Reason: "crack"})
		}, 2, true},
		{"one without is not", busy{fails: 1, status: 503}, func(ctx context.Context, c *Conn) (*http.Response, error) {
			return c.API.HoldRoll(ctx, "R", nil, oapi.ReasonInput{Reason: "crack"})
		}, 1, false},
		{"a replacement is not", busy{fails: 1, status: 503}, func(ctx context.Context, c *Conn) (*http.Response, error) {
			return c.API.ReplaceStand(ctx, "F1", nil, oapi.Stand{})
		}, 1, false},
		{"nor is a revocation", busy{fails: 1, status: 503}, func(ctx context.Context, c *Conn) (*http.Response, error) { return c.API.RevokeToken(ctx, "t") }, 1, false},
		{"a computation is", busy{fails: 1, status: 503}, func(ctx context.Context, c *Conn) (*http.Response, error) {
			return c.API.CheckFinish(ctx, "C", oapi.FinishCheckInput{})
		}, 2, true},
		{"a stream is not", busy{fails: 1, status: 503}, func(ctx context.Context, c *Conn) (*http.Response, error) {
			return c.API.ImportPiecesWithBody(Streaming(ctx), "application/x-ndjson", strings.NewReader("{}\n"))
		}, 1, false},
		{"a long wait is not waited for", busy{fails: 1, status: 503, after: "3600"}, func(ctx context.Context, c *Conn) (*http.Response, error) { return c.API.GetWorks(ctx) }, 1, false},
		{"a short one is", busy{fails: 1, status: 503, after: "2"}, func(ctx context.Context, c *Conn) (*http.Response, error) { return c.API.GetWorks(ctx) }, 2, true},
	} {
		t.Run(c.name, func(t *testing.T) {
			conn := connect(t, Options{Handler: &c.busy})
			_, err := Expect[struct{}](c.call(t.Context(), conn))
			if (err == nil) != c.ok || c.busy.calls != c.calls {
				t.Errorf("%d calls, %v; want %d calls, success %v", c.busy.calls, err, c.calls, c.ok)
			}
			for i := range c.busy.keys {
				if c.busy.keys[i] != c.busy.keys[0] || c.busy.bodies[i] != c.busy.bodies[0] {
					t.Errorf("call %d had key %q and body %q, the first %q and %q", i+1, c.busy.keys[i], c.busy.bodies[i], c.busy.keys[0], c.busy.bodies[0])
				}
			}
		})
	}
}

func TestWaitsGrowAndFollowTheService(t *testing.T) {
	var waits []time.Duration
	c, err := New(Options{Handler: &busy{fails: 99, status: 503}, Sleep: func(_ context.Context, d time.Duration) error {
		waits = append(waits, d)
		return nil
	}})
	if err != nil {
		t.Fatal(err)
	}
	Expect[oapi.Works](c.API.GetWorks(t.Context()))
	for i, d := range waits {
		if least := firstWait << i; d < least || d >= 2*least {
			t.Errorf("wait %d was %v, want between %v and %v", i+1, d, least, 2*least)
		}
	}
	waits = nil
	c.doer.(*retrier).next = &http.Client{Transport: &handlerTransport{handler: &busy{fails: 99, status: 503, after: "5"}}}
	Expect[oapi.Works](c.API.GetWorks(t.Context()))
	for i, d := range waits {
		if d < 5*time.Second {
			t.Errorf("wait %d was %v although the service asked for 5 s", i+1, d)
		}
	}
}

func TestNobodyThere(t *testing.T) {
	server := httptest.NewServer(http.NotFoundHandler())
	server.Close()
	var traced []string
	c := connect(t, Options{Server: server.URL, Token: "bb_secret", Trace: func(line string) { traced = append(traced, line) }})
	_, err := Expect[oapi.Works](c.API.GetWorks(t.Context()))
	var u *Unreachable
	if !errors.As(err, &u) || strings.Contains(err.Error(), "Get \"") {
		t.Errorf("got %T %v", err, err)
	}
	if len(traced) != attempts {
		t.Errorf("%d attempts traced, want %d: %v", len(traced), attempts, traced)
	}
	for _, line := range traced {
		if strings.Contains(line, "bb_secret") {
			t.Errorf("the trace shows the token: %s", line)
		}
	}
}

func TestTimeLimitIsNotTriedAgain(t *testing.T) {
	var calls atomic.Int64
	release := make(chan struct{})
	c := connect(t, Options{Timeout: 10 * time.Millisecond, Handler: http.HandlerFunc(func(http.ResponseWriter, *http.Request) { calls.Add(1); <-release })})
	_, err := Expect[oapi.Works](c.API.GetWorks(t.Context()))
	close(release)
	if err := c.Close(); err != nil {
		t.Error(err)
	}
	var u *Unreachable
	if !errors.As(err, &u) || !errors.Is(err, context.DeadlineExceeded) || calls.Load() != 1 {
		t.Errorf("%d calls, %v", calls.Load(), err)
	}
}

// What is closed under a handler that still runs would fail it half-way.
func TestCloseWaitsForHandlers(t *testing.T) {
	release, ended := make(chan struct{}), atomic.Bool{}
	c := connect(t, Options{Handler: http.HandlerFunc(func(http.ResponseWriter, *http.Request) { <-release; ended.Store(true) })})
	ctx, cancel := context.WithCancel(t.Context())
	time.AfterFunc(time.Millisecond, cancel)
	c.API.GetWorks(ctx)
	time.AfterFunc(20*time.Millisecond, func() { close(release) })
	if err := c.Close(); err != nil || !ended.Load() {
		t.Errorf("closed with %v while the handler had ended: %v", err, ended.Load())
	}
}
