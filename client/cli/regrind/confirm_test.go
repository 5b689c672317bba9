package regrind

import (
	"context"
	"encoding/json"
	"errors"
	"io"
	"net/http"
	"slices"
	"strings"
	"testing"

	"barrelbook/client/cli/kit"
	"barrelbook/client/cli/kit/kittest"
	"barrelbook/client/oapi"
)

// asking is a service that asks about wear and stock and takes what is confirmed.
type asking struct {
	t     *testing.T
	sent  []oapi.RegrindInput
	keys  []string
	taken string
}

func (a *asking) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	var in oapi.RegrindInput
	body, _ := io.ReadAll(r.Body)
	if err := json.Unmarshal(body, &in); err != nil {
		a.t.Error(err)
	}
	a.sent, a.keys = append(a.sent, in), append(a.keys, r.Header.Get("Idempotency-Key"))
	var open []oapi.AskedQuestion
	for _, q := range []oapi.Question{oapi.QuestionWear, oapi.QuestionStock} {
		if in.Confirmed == nil || !slices.Contains(*in.Confirmed, q) {
			open = append(open, oapi.AskedQuestion{Question: q, Pointer: "#/ground_mm", Says: string(q) + " looks odd"})
		}
	}
	if open == nil {
		_, _ = io.WriteString(w, a.taken)
		return
	}
	w.Header().Set("Content-Type", "application/problem+json")
	w.WriteHeader(http.StatusUnprocessableEntity)
	_ = json.NewEncoder(w).Encode(oapi.Problem{Type: "/problems/to-be-confirmed", Title: "look", Status: 422, Questions: &open})
}

// TestQuestionsAreAsked: on a terminal each is put, and the same is sent again
// under the same key; with no for an answer, and where nobody can be asked,
// nothing is sent again.
func TestQuestionsAreAsked(t *testing.T) {
	for name, c := range map[string]struct {
		typed    string
		terminal bool
		flags    string
		requests int
		refused  bool
	}{
		"yes to both":            {"y\ny\n", true, "", 2, false},
		"one is known":           {"y\n", true, " --confirm wear", 2, false},
		"both are known":         {"", true, " --confirm wear,stock", 1, false},
		"no":                     {"n\n", true, "", 1, true},
		"yes and no":             {"y\nn\n", true, "", 1, true},
		"nobody to ask":          {"y\ny\n", false, "", 1, true},
		"nobody, and both named": {"", false, " --confirm wear --confirm stock", 1, false},
	} {
		t.Run(name, func(t *testing.T) {
			a := &asking{t: t, taken: kittest.Fixture(t, "answer.json")}
			w := kittest.New(t, a, c.typed)
			w.Term.SetTTY(c.terminal, c.terminal, c.terminal)
			err := kittest.Run(t, NewCmdRecord(w.Factory, nil), "R1 "+grind+c.flags)
			if (err != nil) != c.refused || len(a.sent) != c.requests {
				t.Errorf("%v after %d requests, want %d and refused %t:\n%s", err, len(a.sent), c.requests, c.refused, w.Err)
			}
			for _, key := range a.keys {
				if key == "" || key != a.keys[0] {
					t.Errorf("sent under the keys %q", a.keys)
				}
			}
			if c.terminal && c.refused && !errors.Is(err, kit.ErrStopped) {
				t.Errorf("answered no, and got %v", err)
			}
			if c.typed != "" && c.terminal && !strings.Contains(w.Err.String(), "ear looks odd") && !strings.Contains(w.Err.String(), "tock looks odd") {
				t.Errorf("asked: %s", w.Err)
			}
		})
	}
}

// TestConfirmIsANameOrAReason.
func TestConfirmIsANameOrAReason(t *testing.T) {
	for typed, want := range map[string]struct{ names, reason, wrong string }{
		"":                               {},
		"--confirm wear":                 {names: "wear"},
		"--confirm Nothing-Rolled,stock": {names: "nothing_rolled stock"},
		`--confirm "crack 3 mm deep"`:    {reason: "crack 3 mm deep"},
		`--confirm stock --confirm "crack 3 mm deep, all round"`: {names: "stock", reason: "crack 3 mm deep, all round"},
		"--confirm stok": {wrong: `did you mean "stock"`},
		"--confirm yes":  {wrong: "the name of no question"},
	} {
		var got *RecordOptions
		w := kittest.New(t, &kittest.Answers{T: t}, "")
		err := kittest.Run(t, NewCmdRecord(w.Factory, func(_ context.Context, o *RecordOptions) error { got = o; return nil }), "R1 "+grind+" "+typed)
		if err != nil {
			t.Fatal(err)
		}
		names, reason, err := got.Answers()
		var list []string
		if names != nil {
			for _, n := range *names {
				list = append(list, string(n))
			}
		}
		if want.wrong != "" {
			if err == nil || !strings.Contains(err.Error(), want.wrong) {
				t.Errorf("%s: %v, want %q", typed, err, want.wrong)
			}
			continue
		}
		if said := ""; err != nil || strings.Join(list, " ") != want.names || reason != nil && *reason != want.reason || reason == nil && want.reason != said {
			t.Errorf("%s: names %q, reason %v, %v", typed, list, reason, err)
		}
	}
}
