package board_test

import (
	"context"
	"fmt"
	"os"
	"os/exec"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/cdproto/emulation"
	cdplog "github.com/chromedp/cdproto/log"
	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/cdproto/runtime"
	"github.com/chromedp/chromedp"

	"barrelbook/api/app/port"
)

// browser starts a headless Chromium. Without one the test is skipped and says
// so; where everything must be tested it fails.
func browser(t *testing.T) context.Context {
	t.Helper()
	path := ""
	for _, name := range []string{"chromium", "chromium-browser", "google-chrome"} {
		if found, err := exec.LookPath(name); err == nil {
			path = found
			break
		}
	}
	if path == "" {
		if os.Getenv("CI") == "true" {
			t.Fatal("Chromium is needed to look at the pages and was not found")
		}
		t.Skip("no Chromium on this machine: the pages are not looked at in a browser")
	}
	options := append(chromedp.DefaultExecAllocatorOptions[:], chromedp.ExecPath(path), chromedp.NoSandbox)
	ctx, stop := chromedp.NewExecAllocator(t.Context(), options...)
	t.Cleanup(stop)
	ctx, stop = chromedp.NewContext(ctx)
	t.Cleanup(stop)
	return ctx
}

// watched collects what a page must not do: complain, fail, or ask elsewhere.
type watched struct {
	mu   sync.Mutex
	home string
	bad  []string
}

func (w *watched) see(event any) {
	w.mu.Lock()
	defer w.mu.Unlock()
	switch e := event.(type) {
	case *runtime.EventExceptionThrown:
		w.bad = append(w.bad, "exception: "+e.ExceptionDetails.Error())
	case *cdplog.EventEntryAdded:
		if e.Entry.Level == cdplog.LevelError {
			w.bad = append(w.bad, "console: "+e.Entry.Text)
		}
	case *network.EventRequestWillBeSent:
		if u := e.Request.URL; !strings.HasPrefix(u, w.home) && !strings.HasPrefix(u, "data:") {
			w.bad = append(w.bad, "asks "+u)
		}
	}
}

func (w *watched) take() []string {
	w.mu.Lock()
	defer w.mu.Unlock()
	bad := w.bad
	w.bad = nil
	return bad
}

// look are the ways a page is looked at.
var look = []struct {
	name          string
	width, height int64
	scheme, media string
	examined      bool // by axe-core, which takes longer than all else
}{
	{"wall", 1920, 1080, "light", "", false},
	{"tablet", 1024, 768, "light", "", false},
	{"phone", 390, 844, "light", "", true},
	{"wall in a dark hall", 1920, 1080, "dark", "", true},
	{"phone in a dark hall", 390, 844, "dark", "", false},
	{"paper", 794, 1123, "light", "print", false},
}

// TestPagesInABrowser looks at every page at each size: nothing runs over the
// edge, nothing complains, nothing is asked elsewhere, and where axe-core is at
// hand (BARRELBOOK_AXE names its file) it finds nothing against WCAG 2.1 A and
// AA, contrast and names for a screen reader among it.
func TestPagesInABrowser(t *testing.T) {
	s := open(t, "cold-tandem")
	ctx := browser(t)
	w := &watched{home: s.url}
	chromedp.ListenTarget(ctx, w.see)
	signInByKeyboard(t, ctx, s)
	axe := axeCore(t)
	pages := []string{"/board/", "/board/mills/cold/grinding", "/board/mills/cold/programme", "/board/mills/cold/records", "/board/rolls/" + s.ahead.Roll, "/board/rolls/" + s.ahead.Roll + "/regrind"}
	for _, page := range pages {
		for i, l := range look {
			var over float64
			err := chromedp.Run(ctx,
				chromedp.EmulateViewport(l.width, l.height),
				emulation.SetEmulatedMedia().WithMedia(l.media).WithFeatures([]*emulation.MediaFeature{{Name: "prefers-color-scheme", Value: l.scheme}}),
				chromedp.ActionFunc(func(ctx context.Context) error {
					if i > 0 {
						return nil // the same page, looked at another way
					}
					return chromedp.Run(ctx, chromedp.Navigate(s.url+page), chromedp.WaitVisible("#made"))
				}),
				chromedp.Evaluate(`document.documentElement.scrollWidth - document.documentElement.clientWidth`, &over))
			if err != nil {
				t.Fatalf("%s, %s: %v", page, l.name, err)
			}
			if over > 0 {
				t.Errorf("%s, %s: %g pixels run over the edge", page, l.name, over)
			}
			if axe != "" && l.examined {
				for _, finding := range examine(t, ctx, axe) {
					t.Errorf("%s, %s: %s", page, l.name, finding)
				}
			}
		}
		for _, bad := range w.take() {
			t.Errorf("%s: %s", page, bad)
		}
	}
}

// signInByKeyboard goes the way of a person without a mouse.
func signInByKeyboard(t *testing.T, ctx context.Context, s *shop) {
	t.Helper()
	var title string
	err := chromedp.Run(ctx, network.Enable(), cdplog.Enable(), runtime.Enable(),
		chromedp.Navigate(s.url+"/"), chromedp.WaitVisible("#token"),
		chromedp.KeyEvent(s.token(port.Engineer)+"\r"), chromedp.WaitVisible("#find"), chromedp.WaitNotPresent("#token"), chromedp.Title(&title))
	if err != nil || strings.Contains(title, "Sign in") {
		t.Fatalf("the token box has the focus and Enter signs in: %q %v", title, err)
	}
}

func axeCore(t *testing.T) string {
	path := os.Getenv("BARRELBOOK_AXE")
	if path == "" {
		if os.Getenv("CI") == "true" {
			t.Fatal("BARRELBOOK_AXE must name the file of axe-core here")
		}
		t.Log("BARRELBOOK_AXE names no file: the pages are not held against WCAG here")
		return ""
	}
	text, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	return string(text)
}

// examine runs axe-core in the page and gives what it finds.
func examine(t *testing.T, ctx context.Context, axe string) []string {
	t.Helper()
	var findings []struct {
		ID    string `json:"id"`
		Help  string `json:"help"`
		Nodes []struct {
			HTML    string `json:"html"`
			Summary string `json:"failureSummary"`
		} `json:"nodes"`
	}
	err := chromedp.Run(ctx, chromedp.Evaluate(axe+"; 0", nil),
		chromedp.Evaluate(`axe.run(document, {runOnly: ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa"], resultTypes: ["violations"]}).then(r => r.violations)`, &findings,
			func(p *runtime.EvaluateParams) *runtime.EvaluateParams { return p.WithAwaitPromise(true) }))
	if err != nil {
		t.Fatal(err)
	}
	var list []string
	for _, f := range findings {
		for i, n := range f.Nodes {
			if i < 3 {
				list = append(list, fmt.Sprintf("%s: %s: %.160s (%.200s)", f.ID, f.Help, n.HTML, n.Summary))
			}
		}
	}
	return list
}

// TestATabletRecordsByKeyboard walks the form with the Tab key alone and records.
func TestATabletRecordsByKeyboard(t *testing.T) {
	s := open(t, "cold-tandem")
	ctx, stop := context.WithTimeout(browser(t), 30*time.Second)
	defer stop()
	signInByKeyboard(t, ctx, s)
	var reached []string
	if err := chromedp.Run(ctx, chromedp.Navigate(s.url+"/board/rolls/"+s.ahead.Roll+"/regrind"), chromedp.WaitVisible("#found_mm")); err != nil {
		t.Fatal(err)
	}
	for range 40 {
		var id string
		if err := chromedp.Run(ctx, chromedp.KeyEvent("\t"), chromedp.Evaluate(`document.activeElement.id || document.activeElement.textContent.trim()`, &id)); err != nil {
			t.Fatal(err)
		}
		reached = append(reached, id)
		if id == "record" {
			break
		}
	}
	all := strings.Join(reached, " ")
	for _, field := range []string{"find", "found_mm", "ground_mm", "purpose", "crown_um", "roughness_um", "test_visual", "test_eddy_current", "grinder", "note", "record"} {
		if !strings.Contains(all, field) {
			t.Errorf("Tab does not come to %s: %s", field, all)
		}
	}
	found, ground := s.figures()
	var said string
	if err := chromedp.Run(ctx, chromedp.SendKeys("#found_mm", found), chromedp.SendKeys("#ground_mm", ground+"\r"), chromedp.WaitVisible("p.good"), chromedp.Text("p.good", &said)); err != nil {
		t.Fatal(err)
	}
	if !strings.Contains(said, "Recorded as entry") {
		t.Errorf("it says %q", said)
	}
}
