package piece

import (
	"errors"
	"fmt"
	"io"
	"net/http"
	"os"
	"strings"
	"testing"

	"barrelbook/client/cli/kit"
	"barrelbook/client/cli/kit/kittest"
	"barrelbook/client/conn"
)

// lines answers each line as it is told to, then a summary.
type lines struct {
	answers, summary string
	body             string
	kind             string
}

func (l *lines) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	raw, _ := io.ReadAll(r.Body)
	l.body, l.kind = string(raw), r.Header.Get("Content-Type")
	w.Header().Set("Content-Type", "application/x-ndjson")
	io.WriteString(w, l.answers+l.summary)
}

const (
	stored  = `{"line":1,"status":"stored","id":"P1"}` + "\n"
	refused = `{"line":2,"status":"refused","id":"P2","problem":{"type":"/problems/impossible","title":"Not physically possible","status":422,"errors":[{"pointer":"#/mass_t","detail":"must be greater than 0"},{"pointer":"#/passes/0/stand","detail":"F9 is unknown"}]}}` + "\n"
	broken  = `{"line":3,"status":"refused","problem":{"type":"/problems/malformed","title":"x","status":400,"detail":"the line is not JSON"}}` + "\n"
)

func summary(line, stored, refused int) string {
	return fmt.Sprintf(`{"summary":true,"line_count":%d,"stored_count":%d,"duplicate_count":0,"refused_count":%d}`+"\n", line, stored, refused)
}

func TestImport(t *testing.T) {
	for _, c := range []struct {
		name      string
		service   lines
		json      bool
		out, talk string
		partial   bool
	}{
		{"all good", lines{answers: stored, summary: summary(1, 1, 0)}, false, "1 line: 1 stored, 0 kept already, 0 refused.\n", "", false},
		{"some refused", lines{answers: stored + refused + broken, summary: summary(3, 1, 2)}, false, "3 lines: 1 stored, 0 kept already, 2 refused.\n",
			"line 2, piece P2: mass_t: must be greater than 0\nline 2, piece P2: passes/0/stand: F9 is unknown\nline 3: the line is not JSON\n", true},
		{"as JSON", lines{answers: stored, summary: summary(1, 1, 0)}, true, summary(1, 1, 0), "", false},
		{"nothing sent", lines{summary: summary(0, 0, 0)}, false, "0 lines: 0 stored, 0 kept already, 0 refused.\n", "", false},
	} {
		t.Run(c.name, func(t *testing.T) {
			w := kittest.New(t, &c.service, "{}\n{}\n{}\n")
			if err := os.WriteFile(w.Given["data"], nil, 0o600); err != nil {
				t.Fatal(err)
			}
			w.JSON = c.json
			err := kittest.Run(t, NewCmdImport(w.Factory, nil), "-")
			var partial *kit.Partial
			if errors.As(err, &partial) != c.partial || (err != nil && !c.partial) {
				t.Errorf("ended with %v", err)
			}
			if w.Out.String() != c.out || w.Err.String() != c.talk {
				t.Errorf("out %q, talk %q; want %q, %q", w.Out, w.Err, c.out, c.talk)
			}
			if c.service.body != "{}\n{}\n{}\n" || c.service.kind != "application/x-ndjson" {
				t.Errorf("sent %q as %s", c.service.body, c.service.kind)
			}
		})
	}
}

// Without a summary nobody knows what was kept: that is a failure, said so.
func TestImportThatBreaksOff(t *testing.T) {
	for name, answers := range map[string]string{"no summary": stored, "half a line": stored + `{"line":2,"sta`} {
		w := kittest.New(t, &lines{answers: answers}, "{}\n")
		err := kittest.Run(t, NewCmdImport(w.Factory, nil), "-")
		var (
			cut    *conn.Unreachable
			notOur *conn.NotOurs
		)
		if !errors.As(err, &cut) && !errors.As(err, &notOur) {
			t.Errorf("%s: got %v", name, err)
		}
		if err != nil && !strings.Contains(err.Error(), "sending the file again is harmless") {
			t.Errorf("%s: the way on is not named: %v", name, err)
		}
	}
}

func TestProgressOnlyOnATerminal(t *testing.T) {
	for _, tty := range []bool{false, true} {
		w := kittest.New(t, &lines{answers: stored, summary: summary(1, 1, 0)}, "{}\n")
		w.Term.SetTTY(false, false, tty)
		if err := kittest.Run(t, NewCmdImport(w.Factory, nil), "-"); err != nil {
			t.Fatal(err)
		}
		if got := strings.Contains(w.Err.String(), "importing"); got != tty {
			t.Errorf("terminal %v: talk %q", tty, w.Err)
		}
		if strings.Contains(w.Out.String(), "importing") {
			t.Error("progress went to the data")
		}
	}
}
