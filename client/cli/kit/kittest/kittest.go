// Package kittest runs commands in tests: against a handler, with streams in
// memory and a clock that stands still.
package kittest

import (
	"bytes"
	"context"
	"flag"
	"io"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/spf13/cobra"

	"barrelbook/client/cli/kit"
	"barrelbook/client/config"
	"barrelbook/client/term"
)

// Now is the moment at which every test happens.
var Now = time.Date(2026, 3, 4, 14, 5, 0, 0, time.UTC)

// World is a factory and what its commands write.
type World struct {
	*kit.Factory
	Out, Err *bytes.Buffer
}

// New makes a world whose service is h.
func New(t *testing.T, h http.Handler, in string) *World {
	t.Helper()
	streams, out, talk := term.Test(in)
	home := t.TempDir()
	w := &World{Out: out, Err: talk}
	w.Factory = &kit.Factory{
		Term: streams, Now: func() time.Time { return Now }, Env: func(string) string { return "" }, Home: home,
		Build: kit.Build{Version: "1.2.3", Commit: "abc"}, Given: map[string]string{config.Data: filepath.Join(home, "books.db"), config.TimeZone: "UTC"},
		Open: func(_ context.Context, path string, _ bool) (kit.Service, error) {
			return kit.Service{Handler: h, Close: func() error { return nil }}, os.WriteFile(path, nil, 0o600)
		},
	}
	return w
}

// Units sets the system that the world works in.
func (w *World) Units(system string) *World {
	w.Given[config.Units] = system
	return w
}

// Run runs one command with the words of a line; double quotes keep words
// together.
func Run(t *testing.T, cmd *cobra.Command, line string) error {
	t.Helper()
	cmd.SilenceErrors, cmd.SilenceUsage = true, true
	cmd.SetOut(io.Discard)
	cmd.SetErr(io.Discard)
	cmd.SetArgs(Split(line))
	return cmd.ExecuteContext(t.Context())
}

// Split parts a line into words as a shell would, double quotes only.
func Split(line string) []string {
	var words []string
	word, started, quoted := "", false, false
	for _, r := range line {
		switch {
		case r == '"':
			quoted, started = !quoted, true
		case r == ' ' && !quoted:
			if started {
				words = append(words, word)
			}
			word, started = "", false
		default:
			word, started = word+string(r), true
		}
	}
	if started {
		words = append(words, word)
	}
	return words
}

// Answers is a service of canned answers, by method and path. What it was sent
// is kept.
type Answers struct {
	T       *testing.T
	Canned  map[string]string // "POST /v1/rolls/R1/regrinds": the body
	Status  int               // defaults to 200
	Sent    []string          // bodies, in order
	Headers []http.Header
	Queries []string
}

// ServeHTTP answers.
func (a *Answers) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	body, _ := io.ReadAll(r.Body)
	a.Sent, a.Headers, a.Queries = append(a.Sent, string(body)), append(a.Headers, r.Header), append(a.Queries, r.URL.RawQuery)
	answer, ok := a.Canned[r.Method+" "+r.URL.Path]
	if !ok {
		a.T.Errorf("nobody expected %s %s", r.Method, r.URL.Path)
		w.WriteHeader(http.StatusTeapot)
		return
	}
	if a.Status >= 400 {
		w.Header().Set("Content-Type", "application/problem+json")
	}
	w.Header().Set("ETag", `"5"`)
	if a.Status != 0 {
		w.WriteHeader(a.Status)
	}
	io.WriteString(w, answer)
}

var update = flag.Bool("update", false, "write the golden files anew")

// Golden compares a text with a file under testdata.
func Golden(t *testing.T, name, got string) {
	t.Helper()
	path := filepath.Join("testdata", name)
	if *update {
		if err := os.MkdirAll("testdata", 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(path, []byte(got), 0o644); err != nil {
			t.Fatal(err)
		}
		return
	}
	want, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if got != string(want) {
		t.Errorf("%s differs; got:\n%s\nwant:\n%s", name, got, want)
	}
}

// Fixture reads a file under testdata.
func Fixture(t *testing.T, name string) string {
	t.Helper()
	raw, err := os.ReadFile(filepath.Join("testdata", name))
	if err != nil {
		t.Fatal(err)
	}
	return string(raw)
}

// Contains fails unless text holds each of parts.
func Contains(t *testing.T, text string, parts ...string) {
	t.Helper()
	for _, p := range parts {
		if !strings.Contains(text, p) {
			t.Errorf("%q is not in:\n%s", p, text)
		}
	}
}
