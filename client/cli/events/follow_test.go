package events

import (
	"context"
	"fmt"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"barrelbook/client/cli/kit/kittest"
)

// feed answers with one event after the other, of which each names the next.
type feed struct {
	asked []string
	last  int
	stop  context.CancelFunc
}

func (f *feed) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	f.asked = append(f.asked, r.URL.RawQuery)
	n := 0
	_, _ = fmt.Sscanf(r.URL.Query().Get("after"), "c%d", &n)
	w.Header().Set("Content-Type", "application/json")
	if n == f.last {
		if f.stop != nil {
			f.stop()
		}
		fmt.Fprintf(w, `{"items":[],"next":"c%d"}`, n)
		return
	}
	fmt.Fprintf(w, `{"items":[{"id":"%d","source":"/x","specversion":"1.0","type":"barrelbook.change.recorded","subject":"changes/C%d","time":"2026-03-04T14:05:00Z",
		"datacontenttype":"application/json","data":{"stand":"F1","role":"work","set_in":"S"},"cursor":"c%d"}],"next":"c%d"}`, n+1, n+1, n+1, n+1)
}

// It goes on from where it was, until it is interrupted, and again from there.
func TestFollow(t *testing.T) {
	f := &feed{last: 2}
	w := kittest.New(t, f, "")
	file := filepath.Join(t.TempDir(), "cursor")
	run := func(line string) error {
		ctx, stop := context.WithCancel(t.Context())
		f.stop = stop
		cmd := NewCmdFollow(w.Factory, nil)
		cmd.SetArgs(kittest.Split(line))
		cmd.SilenceErrors, cmd.SilenceUsage = true, true
		return cmd.ExecuteContext(ctx)
	}
	if err := run("--cursor-file " + file + " --type change --mill hot"); err != context.Canceled {
		t.Errorf("it ended with %v", err)
	}
	want := "2026-03-04 14:05Z  change.recorded  changes/C1  in F1  work  in S\n2026-03-04 14:05Z  change.recorded  changes/C2  in F1  work  in S\n"
	if w.Out.String() != want {
		t.Errorf("got\n%s\nwant\n%s", w.Out, want)
	}
	if !strings.Contains(f.asked[0], "from=now") || !strings.Contains(f.asked[0], "type=change") || !strings.Contains(f.asked[0], "mill=hot") || !strings.Contains(f.asked[0], "wait_s=30") || !strings.Contains(f.asked[1], "after=c1") {
		t.Errorf("asked %q", f.asked)
	}
	if kept, err := os.ReadFile(file); err != nil || string(kept) != "c2\n" {
		t.Errorf("kept %q, %v", kept, err)
	}
	f.last, f.asked = 3, nil
	w.Out.Reset()
	w.JSON = true
	if err := run("--once --cursor-file " + file); err != nil {
		t.Fatal(err)
	}
	if out := w.Out.String(); strings.Count(out, "changes/C") != 1 || !strings.Contains(out, "changes/C3") || !strings.Contains(f.asked[0], "after=c2") || strings.Contains(f.asked[0], "wait_s") {
		t.Errorf("asked %q, got %s", f.asked, out)
	}
}
