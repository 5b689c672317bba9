package main

import (
	"bytes"
	"context"
	"encoding/json"
	"flag"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/spf13/cobra"

	"barrelbook/api/embedded"
	"barrelbook/client/cli"
	"barrelbook/client/cli/kit"
	"barrelbook/client/config"
	"barrelbook/client/term"
	"barrelbook/testdata/demo"
)

var allMills = flag.Bool("all-mills", false, "look at the screens of every demo mill, not of two")

// TestScreens looks at every view of the demo mills on a screen of 80 columns: no
// line is longer, and no word is broken.
func TestScreens(t *testing.T) {
	mills := []string{"billet", "temper"} // grooves, four-high
	if *allMills {
		mills = demo.Mills()
	}
	for _, mill := range mills {
		t.Run(mill, func(t *testing.T) {
			d := openDesk(t, mill)
			for _, view := range views(t, d) {
				checkScreen(t, d, view)
			}
			checkReady(t, d)
		})
	}
}

// TestHelpFits looks at the help of every command in the same way.
func TestHelpFits(t *testing.T) {
	d := &desk{home: t.TempDir()}
	everyCommand(root(t), func(cmd *cobra.Command) {
		checkScreen(t, d, append(strings.Fields(cmd.CommandPath())[1:], "--help"))
	})
}

// checkReady holds what is said to be ready for each stand against the roll change
// itself: a set may go in exactly where the change would be recorded.
func checkReady(t *testing.T, d *desk) {
	t.Helper()
	out, _, _ := d.run(t, true, "stand", "list", "--json")
	var stands struct{ Items []struct{ Name string } }
	if err := json.Unmarshal([]byte(out), &stands); err != nil {
		t.Fatal(err)
	}
	for _, stand := range stands.Items {
		out, talk, code := d.run(t, true, "stand", "ready", stand.Name, "--json")
		var ready struct {
			Items []struct {
				Set     struct{ Name string } `json:"set"`
				May     bool                  `json:"may_go_in"`
				Reasons []string
			}
		}
		if err := json.Unmarshal([]byte(out), &ready); err != nil || len(ready.Items) == 0 {
			t.Fatalf("%s: %d, %v %s", stand.Name, code, err, talk)
		}
		for _, s := range ready.Items {
			_, talk, code := d.run(t, true, "change", "record", stand.Name, "--in", s.Set.Name, "--dry-run")
			if (code == 0) != s.May || s.May != (len(s.Reasons) == 0) {
				t.Errorf("%s into %s: said to be ready %v (%v), and the change ends with %d: %s", s.Set.Name, stand.Name, s.May, s.Reasons, code, talk)
			}
		}
	}
}

// desk is somebody at a screen before the books of a demo mill.
type desk struct {
	handler http.Handler
	ahead   demo.Ahead
	home    string
}

func openDesk(t *testing.T, mill string) *desk {
	t.Helper()
	s, err := embedded.Open(t.Context(), embedded.Options{Path: filepath.Join(t.TempDir(), "books.db"), Volatile: true})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { s.Close() })
	d := &desk{handler: s.Handler(), home: t.TempDir()}
	d.ahead, err = demo.Load(t.Context(), func(_ context.Context, r demo.Request) (int, string, []byte, error) {
		q := httptest.NewRequest(r.Method, r.Path, bytes.NewReader(r.Body))
		q.Header.Set("Content-Type", r.ContentType)
		if r.IfMatch != "" {
			q.Header.Set("If-Match", r.IfMatch)
		}
		w := httptest.NewRecorder()
		d.handler.ServeHTTP(w, q)
		return w.Code, w.Header().Get("ETag"), w.Body.Bytes(), nil
	}, demo.Options{Mill: mill, Now: time.Now()})
	if err != nil {
		t.Fatal(err)
	}
	return d
}

// run types one command.
func (d *desk) run(t *testing.T, wide bool, args ...string) (out, talk string, code int) {
	t.Helper()
	streams, o, e := term.Test("")
	streams.Wide = wide
	f := &kit.Factory{Term: streams, Now: time.Now, Home: d.home, Env: func(name string) string {
		return map[string]string{"BARRELBOOK_DATA": filepath.Join(d.home, "books.db"), "TZ": "Europe/Vienna"}[name]
	}, Open: func(context.Context, string, bool) (kit.Service, error) {
		return kit.Service{Handler: d.handler, Close: func() error { return nil }}, nil
	}}
	if err := os.WriteFile(filepath.Join(d.home, "books.db"), nil, 0o600); err != nil {
		t.Fatal(err)
	}
	code = cli.Run(t.Context(), f, args)
	return o.String(), e.String(), code
}

// checkScreen wants every line of a view within 80 columns and every word of it
// whole: as it stands where lines are as long as they come.
func checkScreen(t *testing.T, d *desk, args []string) {
	t.Helper()
	line := strings.Join(args, " ")
	out, talk, code := d.run(t, false, args...)
	if code != 0 {
		t.Errorf("%s: exit code %d: %s", line, code, talk)
		return
	}
	wideOut, wideTalk, _ := d.run(t, true, args...)
	words := map[string]bool{}
	for word := range strings.FieldsSeq(wideOut + wideTalk) {
		words[word] = true
	}
	talk, _, _ = strings.Cut(talk, "Left out for want of room")
	for text := range strings.Lines(out + talk) {
		text = strings.TrimRight(text, "\n")
		if n := term.Cells(text); n > 80 {
			t.Errorf("%s: %d columns: %s", line, n, text)
		}
		if strings.ContainsAny(text, "█▀▄┊╌└┤│") {
			continue // a drawing is drawn for its width
		}
		for word := range strings.FieldsSeq(text) {
			if word != `\` && !words[word] && !passing(word) {
				t.Errorf("%s: broken word %q in: %s", line, word, text)
			}
		}
	}
}

// passing is what differs from one call to the next: moments, and the numbers of
// an axis.
func passing(word string) bool { return strings.Trim(word, "-0123456789:.,") == "" }

// first is the name of the first item of a list.
func (d *desk) first(t *testing.T, field string, args ...string) string {
	t.Helper()
	out, talk, _ := d.run(t, true, append(args, "--json")...)
	var page struct{ Items []map[string]any }
	if err := json.Unmarshal([]byte(out), &page); err != nil || len(page.Items) == 0 {
		t.Fatalf("%v: nothing is listed: %v %s", args, err, talk)
	}
	return page.Items[0][field].(string)
}

// views are the command lines of every view there is.
func views(t *testing.T, d *desk) (lines [][]string) {
	stand := d.first(t, "name", "stand", "list")
	names := map[string]string{
		"ROLL": d.first(t, "number", "roll", "list"), "WORN": d.ahead.Roll, "SET": d.first(t, "name", "set", "list"), "STAND": stand,
		"PRACTICE": d.first(t, "name", "practice", "list"), "CAMPAIGN": d.ahead.Campaign, "MILL": d.ahead.Mill,
	}
	seen := map[string]bool{}
	for _, text := range screens {
		words := strings.Fields(text)
		for i, word := range words {
			if name, is := names[word]; is {
				words[i] = name
			}
		}
		lines = append(lines, words)
		cmd, _, err := root(t).Find(words)
		if err != nil {
			t.Fatalf("%s: %v", text, err)
		}
		seen[cmd.CommandPath()] = true
	}
	// What shows something and is not looked at here is a new view.
	everyCommand(root(t), func(cmd *cobra.Command) {
		view := slices.Contains([]string{"list", "show"}, cmd.Name()) || cmd.Parent() != nil && cmd.Parent().Name() == "report"
		if view && !seen[cmd.CommandPath()] && !slices.Contains(notScreens, strings.TrimPrefix(cmd.CommandPath(), "barrelbook ")) {
			t.Errorf("%s is a view that screens_test.go does not look at", cmd.CommandPath())
		}
	})
	return lines
}

var screens = []string{
	"works show", "mill list", "stand list", "stand show STAND", "grade list", "practice list", "practice settings", "practice show PRACTICE", "wear-rate list",
	"roll list", "roll list --stage worn", "roll list --owed", "roll list --warm --sort cool", "roll where WORN", "shift handover", "stand ready STAND", "regrind queue", "roll show ROLL", "roll show WORN", "roll book WORN", "roll mountings WORN", "roll map WORN", "roll forecast WORN",
	"set list", "set list --ready", "set show SET", "chock list", "incident list", "piece list", "change list", "change plan CAMPAIGN",
	"campaign list", "campaign show CAMPAIGN --pieces", "campaign check CAMPAIGN", "campaign check CAMPAIGN --explain", "regrind advise WORN",
	"report stock", "report buying", "report consumption", "report populations", "report scores", "report scrap", "claim list",
	"order list", "works sign-offs", "webhook list", "audit list", "token list", "settings list", "version",
}

// notScreens are views that need what no demo mill has.
var notScreens = []string{"chock show", "order show"}

func root(t *testing.T) *cobra.Command {
	t.Helper()
	streams, _, _ := term.Test("")
	r := cli.NewRoot(&kit.Factory{Term: streams, Env: func(string) string { return "" }, Given: map[string]string{config.Data: "x"}})
	r.InitDefaultCompletionCmd()
	r.InitDefaultHelpCmd()
	return r
}

func everyCommand(cmd *cobra.Command, visit func(*cobra.Command)) {
	visit(cmd)
	for _, c := range cmd.Commands() {
		everyCommand(c, visit)
	}
}
