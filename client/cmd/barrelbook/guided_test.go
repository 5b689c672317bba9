//go:build unix

package main

import (
	"regexp"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/creack/pty"
)

// TestGuidedRegrind records a regrind at a real terminal, answer by answer.
func TestGuidedRegrind(t *testing.T) {
	dir := t.TempDir()
	if out, err := program(t, dir, "demo", "--mill", "temper", "--keep", "books.db").CombinedOutput(); err != nil {
		t.Fatalf("%v %s", err, out)
	}
	typing := atTerminal(t, dir, "regrind", "record")
	typing.answer("place in the list", "1")
	typing.answer("Found", "not a diameter")
	typing.answer("Found", "") // nothing usual: asked again
	last := regexp.MustCompile(`last ([0-9.]+) mm`).FindStringSubmatch(typing.seen())
	if last == nil {
		t.Fatalf("the last diameter was not said:\n%s", typing.seen())
	}
	typing.answer("Found", last[1])
	typing.answer("Ground [", "") // the aim
	typing.answer("For (", "wearr")
	typing.answer("For (", "")
	typing.answer("Crown as measured [", "-")
	typing.answer("Taper", "")
	typing.answer("Roundness", "3")
	typing.answer("Run-out", "4")
	typing.answer("Roughness", "1.5")
	for typing.next("test (", "Grinder") == "test (" {
		typing.answer("test (", "passed")
	}
	typing.answer("Grinder", "G2")
	typing.answer("Note", "wheel changed")
	for {
		if typing.next("Record it? [y/N]", "Is it right? [y/N]", "Recorded as entry") == "Recorded as entry" {
			break
		}
		typing.answer("[y/N]", "y")
	}
	if code := typing.end(); code != 0 {
		t.Errorf("exit code %d:\n%s", code, typing.seen())
	}
	for _, want := range []string{`"wearr" is none of`, "did you mean", "barrelbook regrind record ", " --found " + last[1], "--roughness 1.5", `--note "wheel changed"`, "--grinder G2"} {
		if !strings.Contains(strings.Join(strings.Fields(typing.seen()), " "), strings.TrimSpace(want)) {
			t.Errorf("%q was not said:\n%s", want, typing.seen())
		}
	}
}

// TestGuidedRegrindInterrupted: Ctrl-C at a question ends at once and records nothing.
func TestGuidedRegrindInterrupted(t *testing.T) {
	dir := t.TempDir()
	if out, err := program(t, dir, "demo", "--mill", "temper", "--keep", "books.db").CombinedOutput(); err != nil {
		t.Fatalf("%v %s", err, out)
	}
	typing := atTerminal(t, dir, "regrind", "record")
	typing.next("place in the list")
	began := time.Now()
	typing.keys("\x03")
	if code := typing.end(); code != 130 || !strings.Contains(typing.seen(), "Interrupted.") {
		t.Errorf("exit code %d:\n%s", code, typing.seen())
	}
	t.Logf("ended %v after Ctrl-C", time.Since(began))
}

// typist sits at a terminal of 80 columns.
type typist struct {
	t    *testing.T
	keys func(string)
	end  func() int

	mu   sync.Mutex
	text string
	read int // up to where it was read
}

func atTerminal(t *testing.T, dir string, args ...string) *typist {
	t.Helper()
	cmd := program(t, dir, args...)
	cmd.Env = append(cmd.Env, "TERM=xterm", "NO_COLOR=1", "BARRELBOOK_PAGER=cat")
	screen, err := pty.StartWithSize(cmd, &pty.Winsize{Rows: 24, Cols: 80})
	if err != nil {
		t.Fatal(err)
	}
	p := &typist{t: t, keys: func(text string) { screen.WriteString(text) }}
	shown := make(chan struct{})
	go func() {
		defer close(shown)
		part := make([]byte, 4096)
		for {
			n, err := screen.Read(part)
			p.mu.Lock()
			p.text += string(part[:n])
			p.mu.Unlock()
			if err != nil { // the program has ended
				return
			}
		}
	}()
	p.end = func() int {
		cmd.Wait()
		<-shown
		screen.Close()
		return cmd.ProcessState.ExitCode()
	}
	t.Cleanup(func() { cmd.Process.Kill() })
	return p
}

func (p *typist) seen() string {
	p.mu.Lock()
	defer p.mu.Unlock()
	return p.text
}

// next waits until one of the texts is shown that was not answered yet.
func (p *typist) next(texts ...string) string {
	p.t.Helper()
	for range 600 {
		p.mu.Lock()
		for _, text := range texts {
			if strings.Contains(p.text[p.read:], text) {
				p.mu.Unlock()
				return text
			}
		}
		p.mu.Unlock()
		time.Sleep(50 * time.Millisecond)
	}
	p.t.Fatalf("none of %q was asked:\n%s", texts, p.seen())
	return ""
}

func (p *typist) answer(question, text string) {
	p.t.Helper()
	p.next(question)
	p.mu.Lock()
	p.read += strings.Index(p.text[p.read:], question) + len(question)
	p.mu.Unlock()
	p.keys(text + "\n")
}
