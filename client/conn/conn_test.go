package conn

import (
	"bufio"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
	"time"

	"barrelbook/client/oapi"
)

// both runs a test over the network and in-process: one code path, one outcome.
func both(t *testing.T, h http.HandlerFunc, test func(t *testing.T, c *Conn)) {
	t.Helper()
	t.Run("network", func(t *testing.T) {
		server := httptest.NewServer(h)
		defer server.Close()
		test(t, connect(t, Options{Server: server.URL, Token: "bb_secret"}))
	})
	t.Run("in-process", func(t *testing.T) { test(t, connect(t, Options{Handler: h, Token: "bb_secret"})) })
}

func connect(t *testing.T, o Options) *Conn {
	t.Helper()
	o.Sleep = func(ctx context.Context, _ time.Duration) error { return ctx.Err() }
	c, err := New(o)
	if err != nil {
		t.Fatal(err)
	}
	return c
}

func problem(w http.ResponseWriter, status int, slug, detail string) {
	w.Header().Set("Content-Type", "application/problem+json")
	w.WriteHeader(status)
	json.NewEncoder(w).Encode(oapi.Problem{Type: "/problems/" + slug, Title: "title", Status: int64(status), Detail: &detail})
}

func TestExpectReadsTheAnswer(t *testing.T) {
	both(t, func(w http.ResponseWriter, r *http.Request) {
		if got := r.Header.Get("Authorization"); got != "Bearer bb_secret" {
			t.Errorf("Authorization %q", got)
		}
		if r.URL.Path != "/v1/mills" || r.URL.Query().Get("limit") != "3" {
			t.Errorf("asked %s", r.URL)
		}
		w.Header().Set("ETag", `"7"`)
		io.WriteString(w, `{"items": [{"name": "M", "kind": "bar"}], "later": 1}`)
	}, func(t *testing.T, c *Conn) {
		three := int64(3)
		a, err := Expect[oapi.MillPage](c.API.ListMills(t.Context(), &oapi.ListMillsParams{Limit: &three}))
		if err != nil {
			t.Fatal(err)
		}
		if len(a.Value.Items) != 1 || a.Value.Items[0].Name != "M" || a.ETag != `"7"` {
			t.Errorf("got %+v", a)
		}
		if string(a.Raw) != `{"items": [{"name": "M", "kind": "bar"}], "later": 1}` {
			t.Errorf("the bytes were changed: %s", a.Raw)
		}
	})
}

func TestExpectReadsProblems(t *testing.T) {
	both(t, func(w http.ResponseWriter, r *http.Request) {
		problem(w, http.StatusNotFound, "not-found", "there is no roll R9")
	}, func(t *testing.T, c *Conn) {
		_, err := Expect[oapi.Roll](c.API.GetRoll(t.Context(), "R9", nil))
		var p *Problem
		if !errors.As(err, &p) || p.Slug() != "not-found" || p.Status != 404 || p.Error() != "there is no roll R9" {
			t.Errorf("got %#v", err)
		}
	})
}

func TestWhatIsNotOurs(t *testing.T) {
	for name, h := range map[string]http.HandlerFunc{
		"a page of something else": func(w http.ResponseWriter, r *http.Request) {
			w.Header().Set("Content-Type", "text/html")
			w.WriteHeader(http.StatusNotFound)
			io.WriteString(w, "<html>")
		},
		"a broken problem": func(w http.ResponseWriter, r *http.Request) {
			w.Header().Set("Content-Type", "application/problem+json")
			w.WriteHeader(http.StatusConflict)
			io.WriteString(w, "{")
		},
		"broken JSON": func(w http.ResponseWriter, r *http.Request) { io.WriteString(w, `{"items": [`) },
		"a redirect to follow": func(w http.ResponseWriter, r *http.Request) {
			http.Redirect(w, r, "http://elsewhere.invalid/", http.StatusFound)
		},
		"a field of other type": func(w http.ResponseWriter, r *http.Request) { io.WriteString(w, `{"items": 7}`) },
	} {
		t.Run(name, func(t *testing.T) {
			both(t, h, func(t *testing.T, c *Conn) {
				_, err := Expect[oapi.MillPage](c.API.ListMills(t.Context(), nil))
				var n *NotOurs
				if !errors.As(err, &n) {
					t.Errorf("got %T %v, want NotOurs", err, err)
				}
			})
		})
	}
}

func TestNoContent(t *testing.T) {
	both(t, func(w http.ResponseWriter, r *http.Request) { w.WriteHeader(http.StatusNoContent) }, func(t *testing.T, c *Conn) {
		if _, err := Expect[struct{}](c.API.RevokeToken(t.Context(), "t")); err != nil {
			t.Error(err)
		}
	})
}

// A line must come back before the next is sent: the in-process transport
// streams as a socket does.
func TestAnswersStream(t *testing.T) {
	both(t, func(w http.ResponseWriter, r *http.Request) {
		control := http.NewResponseController(w)
		if err := control.EnableFullDuplex(); err != nil {
			t.Errorf("full duplex: %v", err)
		}
		lines := bufio.NewScanner(r.Body)
		for lines.Scan() {
			fmt.Fprintf(w, "got %s\n", lines.Text())
			control.Flush()
		}
	}, func(t *testing.T, c *Conn) {
		in, out := io.Pipe()
		go io.WriteString(out, "one\n")
		resp, err := c.API.ImportPiecesWithBody(Streaming(t.Context()), "application/x-ndjson", in)
		if err != nil {
			t.Fatal(err)
		}
		defer resp.Body.Close()
		answers := bufio.NewReader(resp.Body)
		for _, next := range []string{"two\n", ""} {
			line, err := answers.ReadString('\n')
			if err != nil {
				t.Fatal(err)
			}
			t.Logf("%s", line)
			if next == "" {
				out.Close()
			} else {
				io.WriteString(out, next)
			}
		}
		if rest, err := io.ReadAll(answers); err != nil || len(rest) != 0 {
			t.Errorf("after the last line: %q, %v", rest, err)
		}
	})
}

func TestServiceThatPanics(t *testing.T) {
	h := func(w http.ResponseWriter, r *http.Request) { panic("bug") }
	c := connect(t, Options{Handler: http.HandlerFunc(h)})
	_, err := Expect[oapi.Works](c.API.GetWorks(t.Context()))
	var u *Unreachable
	if !errors.As(err, &u) {
		t.Errorf("got %T %v, want Unreachable", err, err)
	}
}

func TestServiceThatBreaksOff(t *testing.T) {
	c := connect(t, Options{Handler: http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		io.WriteString(w, `{"items":`)
		panic(http.ErrAbortHandler)
	})})
	_, err := Expect[oapi.MillPage](c.API.ListMills(t.Context(), nil))
	var u *Unreachable
	if !errors.As(err, &u) || !strings.Contains(err.Error(), "broke") {
		t.Errorf("got %T %v, want Unreachable", err, err)
	}
}

func TestServiceThatSaysNothing(t *testing.T) {
	both(t, func(http.ResponseWriter, *http.Request) {}, func(t *testing.T, c *Conn) {
		_, err := Expect[oapi.Works](c.API.GetWorks(t.Context()))
		var n *NotOurs
		if !errors.As(err, &n) || n.Status != 200 {
			t.Errorf("got %T %v, want NotOurs with status 200", err, err)
		}
	})
}

func TestCancelling(t *testing.T) {
	release := make(chan struct{})
	defer close(release)
	both(t, func(w http.ResponseWriter, r *http.Request) { <-release }, func(t *testing.T, c *Conn) {
		ctx, cancel := context.WithCancel(t.Context())
		time.AfterFunc(10*time.Millisecond, cancel)
		_, err := Expect[oapi.Works](c.API.GetWorks(ctx))
		if !errors.Is(err, context.Canceled) {
			t.Errorf("got %v, want context.Canceled", err)
		}
		release <- struct{}{}
	})
}

// TestCancellingAnIdleStream: an interrupt ends a stream whose source says
// nothing, as a terminal does.
func TestCancellingAnIdleStream(t *testing.T) {
	both(t, func(w http.ResponseWriter, r *http.Request) { io.Copy(io.Discard, r.Body) }, func(t *testing.T, c *Conn) {
		source, typing := io.Pipe()
		defer typing.Close()
		ctx, cancel := context.WithCancel(t.Context())
		time.AfterFunc(20*time.Millisecond, cancel)
		ended := make(chan error, 1)
		go func() {
			_, err := c.API.ImportPiecesWithBody(Streaming(ctx), "application/x-ndjson", io.MultiReader(source))
			ended <- err
		}()
		select {
		case err := <-ended:
			if !errors.Is(err, context.Canceled) {
				t.Errorf("got %v, want context.Canceled", err)
			}
		case <-time.After(5 * time.Second):
			t.Error("the interrupt was not heard")
		}
	})
}

func TestNeitherServerNorHandler(t *testing.T) {
	if _, err := New(Options{}); err == nil {
		t.Error("a connection to nowhere was made")
	}
}

func TestSendHandMade(t *testing.T) {
	both(t, func(w http.ResponseWriter, r *http.Request) {
		body, _ := io.ReadAll(r.Body)
		fmt.Fprintf(w, "%s %s %s %q key=%v", r.Method, r.URL.Path, r.Header.Get("If-Match"), body, r.Header.Get("Idempotency-Key") != "")
	}, func(t *testing.T, c *Conn) {
		resp, err := c.Send(t.Context(), Request{Method: "POST", Path: "/v1/sets/S/breakings", IfMatch: `"3"`, Body: strings.NewReader("{}")})
		if err != nil {
			t.Fatal(err)
		}
		defer resp.Body.Close()
		got, _ := io.ReadAll(resp.Body)
		if want := `POST /v1/sets/S/breakings "3" "{}" key=true`; string(got) != want {
			t.Errorf("got %s, want %s", got, want)
		}
	})
}

func TestKeysDiffer(t *testing.T) {
	seen := map[string]bool{}
	for range 1000 {
		key := NewKey()
		if seen[key] || len(key) != 32 {
			t.Fatalf("key %q", key)
		}
		seen[key] = true
	}
}
