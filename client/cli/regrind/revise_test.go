package regrind

import (
	"errors"
	"strings"
	"testing"

	"barrelbook/client/cli/kit"
	"barrelbook/client/cli/kit/kittest"
)

// TestCorrectionsShowAndAsk: what a correction changes and what follows is shown
// by a dry run before anything is done; with no for an answer, or nobody to
// answer, nothing is.
func TestCorrectionsShowAndAsk(t *testing.T) {
	for name, c := range map[string]struct {
		typed    string
		terminal bool
		flags    string
		asked    []string // the queries of the corrections sent
		stopped  bool
	}{
		"yes":           {"y\n", true, "", []string{"dry_run=true", ""}, false},
		"no":            {"n\n", true, "", []string{"dry_run=true"}, true},
		"nobody to ask": {"", false, "", []string{"dry_run=true"}, true},
		"unasked":       {"", false, " --yes", []string{""}, false},
		"only to see":   {"", false, " --dry-run", []string{"dry_run=true"}, false},
	} {
		t.Run(name, func(t *testing.T) {
			answers := &kittest.Answers{T: t, Canned: map[string]string{"POST /v1/rolls/R1/corrections": kittest.Fixture(t, "correction.json"),
				"GET /v1/rolls/R1/entries": strings.Replace(book, "%s", `,"kind":"reground"`, 1)}}
			w := kittest.New(t, answers, c.typed)
			w.Term.SetTTY(c.terminal, c.terminal, c.terminal)
			err := kittest.Run(t, NewCmdCorrect(w.Factory, nil), "R1 --ground 737.95 --reason swapped"+c.flags)
			var usage *kit.UsageError
			if stopped := errors.Is(err, kit.ErrStopped) || errors.As(err, &usage); stopped != c.stopped || !stopped && err != nil {
				t.Fatalf("got %v", err)
			}
			if got := answers.Queries[1:]; strings.Join(got, "|") != strings.Join(c.asked, "|") {
				t.Errorf("sent %q, want %q", got, c.asked)
			}
			for _, h := range answers.Headers[1:] {
				if h.Get("If-Match") != `"4"` || h.Get("Idempotency-Key") != answers.Headers[1].Get("Idempotency-Key") {
					t.Errorf("sent with %v", h)
				}
			}
			kittest.Contains(t, w.Out.String()+w.Err.String(), "Entry 4 of R1", "737.900 mm", "737.950 mm", "nothing", "What follows", "not released: visual was not done since the grind", "eddy current", "about 118")
			if c.stopped && w.Out.Len() > 0 {
				t.Errorf("printed as data, though nothing was done: %s", w.Out)
			}
		})
	}
}
