package term

import (
	"bytes"
	"errors"
	"strings"
	"testing"
	"time"
)

func TestWrap(t *testing.T) {
	for _, c := range []struct {
		name, line string
		width      int
		want       string
	}{
		{"what fits stays as it is", "  a   b", 10, "  a   b"},
		{"between words", "one two three four", 9, "one two\nthree\nfour"},
		{"under the dash of what is listed", "  - one two three", 11, "  - one two\n    three"},
		{"a figure keeps its unit", "worn by 244 µm since", 13, "worn by\n244 µm since"},
		{"and a date its time", "rolled 2026-03-04 14:05Z there", 20, "rolled\n2026-03-04 14:05Z\nthere"},
		{"a word is never broken", "see barrelbook-very-long-name now", 10, "see\nbarrelbook-very-long-name\nnow"},
		{"colour takes no room", "\x1b[31mone two\x1b[0m", 7, "\x1b[31mone two\x1b[0m"},
	} {
		t.Run(c.name, func(t *testing.T) {
			if got := wrapAll(c.line, c.width); got != c.want {
				t.Errorf("got %q, want %q", got, c.want)
			}
		})
	}
}

// The clock on the wall is told with its zone, on the days when it is changed too.
func TestLocal(t *testing.T) {
	for _, c := range []struct{ zone, utc, want string }{
		{"UTC", "2026-03-04 14:05Z", "2026-03-04 14:05Z"},
		{"Europe/Vienna", "out since 2026-03-29 00:59Z, back 2026-03-29 01:00Z", "out since 2026-03-29 01:59 CET, back 2026-03-29 03:00 CEST"},
		{"Europe/Vienna", "2026-10-25 00:30Z", "2026-10-25 02:30 CEST"},
		{"Europe/Vienna", "2026-10-25 01:30Z", "2026-10-25 02:30 CET"},
		{"America/Sao_Paulo", "2026-03-04 01:05Z", "2026-03-03 22:05 UTC-03:00"},
		{"Europe/Vienna", "piece 2026-03-04 14:05", "piece 2026-03-04 14:05"},
	} {
		s, out, talk := Test("")
		zone, err := time.LoadLocation(c.zone)
		if err != nil {
			t.Fatal(err)
		}
		s.Zone = zone
		s.Print("%s", c.utc)
		s.Say("%s", c.utc)
		if out.String() != c.want+"\n" || talk.String() != c.want+"\n" {
			t.Errorf("%s in %s: %q and %q, want %q", c.utc, c.zone, out, talk, c.want)
		}
		out.Reset()
		if s.Data().Write([]byte(c.utc)); out.String() != c.utc {
			t.Errorf("a program is given %q, want UTC", out)
		}
	}
}

func TestASCII(t *testing.T) {
	for text, want := range map[string]string{
		"worn 244 µm ± 3 %": "worn 244 um +/- 3 %", "█▀▄ ┤╌┊": "#\"_ |-:", "日本": "??", "grün": "gruen",
	} {
		if got := ASCII(text); got != want {
			t.Errorf("%q: got %q, want %q", text, got, want)
		}
	}
	for locale, want := range map[string]bool{"C": false, "POSIX": false, "de_AT.ISO8859-1": false, "C.UTF-8": true, "en_US.utf8": true, "": true} {
		if got := speaksUTF8(func(name string) string { return map[string]string{"LANG": locale}[name] }); got != want {
			t.Errorf("LANG=%q: %v", locale, got)
		}
	}
	if speaksUTF8(func(name string) string { return map[string]string{"LC_ALL": "C", "LANG": "en_US.UTF-8"}[name] }) {
		t.Error("LC_ALL does not win over LANG")
	}
}

// Talk that comes after data keeps its place behind it, though the data waits for
// the pager.
func TestHeldForThePager(t *testing.T) {
	s, out, talk := Test("")
	s.screen = &screen{height: 24, pager: "false"}
	s.Say("first")
	s.Print("data")
	s.Say("last")
	if talk.String() != "first\n" || out.Len() > 0 {
		t.Errorf("talk %q, data %q before the end", talk, out)
	}
	if err := s.Close(); err != nil || out.String() != "data\nlast\n" {
		t.Errorf("%v, data %q", err, out)
	}
}

// Without a pager on the machine nothing is lost.
func TestNoPagerThere(t *testing.T) {
	s, out, _ := Test("")
	s.screen = &screen{height: 5, pager: "no-such-pager-here"}
	s.Print("%s", strings.Repeat("line\n", 20))
	if err := s.Close(); err != nil || strings.Count(out.String(), "line") != 20 {
		t.Errorf("%v, data %q", err, out)
	}
}

type full struct{}

func (full) Write([]byte) (int, error) { return 0, errors.New("no space left on device") }

func TestWriteErrorIsKept(t *testing.T) {
	s := &Streams{Err: new(bytes.Buffer), env: func(string) string { return "" }}
	s.bare = lateWriter{s, full{}}
	s.Out = s.bare
	s.Print("an answer")
	if err := s.Close(); err == nil {
		t.Error("an answer that could not be written is taken as given")
	}
}
