package main

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"net/http"
	"net/http/httptest"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/rogpeppe/go-internal/testscript"

	"barrelbook/api/embedded"
	"barrelbook/client/term"
	"barrelbook/testdata/demo"
)

// TestShift runs a whole shift at 80 columns on a demo mill: in the program's own
// process, and against a daemon as grinder, shift and engineer.
func TestShift(t *testing.T) {
	for _, how := range []string{"in process", "daemon"} {
		t.Run(how, func(t *testing.T) {
			testscript.Run(t, testscript.Params{
				Dir:                 "../../../testdata/scripts/shift",
				RequireExplicitExec: true,
				RequireUniqueNames:  true,
				Setup:               func(e *testscript.Env) error { return openShift(e, how == "daemon") },
				Condition:           func(name string) (bool, error) { return name == "daemon" && how == "daemon", nil },
				Cmds:                map[string]func(*testscript.TestScript, bool, []string){"code": code, "as": as, "at80": at80, "ready": firstReady},
			})
		})
	}
}

// openShift loads the books of a demo mill, makes a token for each role, and puts
// them behind a daemon where one is wanted.
func openShift(e *testscript.Env, daemon bool) error {
	data := filepath.Join(e.WorkDir, "books.db")
	s, err := embedded.Open(context.Background(), embedded.Options{Path: data})
	if err != nil {
		return err
	}
	ask := func(method, path, media string, body []byte) (int, string, []byte) {
		q := httptest.NewRequest(method, path, bytes.NewReader(body))
		q.Header.Set("Content-Type", media)
		w := httptest.NewRecorder()
		s.Handler().ServeHTTP(w, q)
		return w.Code, w.Header().Get("ETag"), w.Body.Bytes()
	}
	ahead, err := demo.Load(context.Background(), func(_ context.Context, r demo.Request) (int, string, []byte, error) {
		code, tag, answer := ask(r.Method, r.Path, r.ContentType, r.Body)
		return code, tag, answer, nil
	}, demo.Options{Mill: "temper", Now: time.Now()})
	if err != nil {
		return err
	}
	var grind struct {
		Found   float64 `json:"found_mm"`
		Ground  float64 `json:"ground_mm"`
		Purpose string
	}
	if err := json.Unmarshal(ahead.Regrind, &grind); err != nil {
		return err
	}
	for name, value := range map[string]string{"HOME": e.WorkDir, "TZ": "UTC", "COLUMNS": "80", "BARRELBOOK_DATA": data, "STAND": "TM1", "ROLL": ahead.Roll,
		"FOUND": fmt.Sprintf("%.3f", grind.Found), "GROUND": fmt.Sprintf("%.3f", grind.Ground), "FOR": grind.Purpose} {
		e.Setenv(name, value)
	}
	if !daemon {
		return s.Close()
	}
	for _, role := range []string{"grinder", "shift", "engineer"} {
		code, _, answer := ask(http.MethodPost, "/v1/tokens", "application/json", fmt.Appendf(nil, `{"name":"%s-1","role":"%s"}`, role, role))
		var made struct{ Secret string }
		if err := json.Unmarshal(answer, &made); err != nil || made.Secret == "" {
			return fmt.Errorf("no token for %s: %d %s", role, code, answer)
		}
		e.Setenv("TOKEN_"+role, made.Secret)
	}
	if err := s.Close(); err != nil {
		return err
	}
	if s, err = embedded.Open(context.Background(), embedded.Options{Path: data, Tokens: true}); err != nil {
		return err
	}
	server := httptest.NewServer(s.Handler())
	e.Defer(func() {
		server.Close()
		if err := s.Close(); err != nil {
			e.T().Log(err)
		}
	})
	e.Setenv("BARRELBOOK_DATA", "")
	e.Setenv("BARRELBOOK_SERVER", server.URL)
	return nil
}

// as goes on as somebody of a role; in one's own process one is admin.
func as(ts *testscript.TestScript, neg bool, args []string) {
	ts.Setenv("BARRELBOOK_TOKEN", ts.Getenv("TOKEN_"+args[0]))
}

// at80 runs a command that must succeed on a screen of 80 columns.
func at80(ts *testscript.TestScript, neg bool, args []string) {
	ts.Check(ts.Exec(args[0], args[1:]...))
	for _, stream := range []string{"stdout", "stderr"} {
		for line := range strings.Lines(ts.ReadFile(stream)) {
			if n := term.Cells(strings.TrimRight(line, "\n")); n > 80 {
				ts.Fatalf("%d columns: %s", n, line)
			}
		}
	}
}

// firstReady names the first set that may go into a stand in SET.
func firstReady(ts *testscript.TestScript, neg bool, args []string) {
	ts.Check(ts.Exec("barrelbook", "stand", "ready", args[0], "--json"))
	var ready struct {
		Items []struct {
			Set struct{ Name string } `json:"set"`
			May bool                  `json:"may_go_in"`
		}
	}
	if err := json.NewDecoder(strings.NewReader(ts.ReadFile("stdout"))).Decode(&ready); err != nil && err != io.EOF || len(ready.Items) == 0 || !ready.Items[0].May {
		ts.Fatalf("no set may go into %s: %v", args[0], err)
	}
	ts.Setenv("SET", ready.Items[0].Set.Name)
}
