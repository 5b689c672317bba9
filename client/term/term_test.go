package term

import (
	"errors"
	"strings"
	"testing"
)

func TestConfirm(t *testing.T) {
	for _, c := range []struct {
		typed string
		want  bool
	}{
		{"y\n", true}, {"YES\n", true}, {" yes \n", true},
		{"n\n", false}, {"\n", false}, {"", false}, {"yep\n", false},
	} {
		s, _, talk := Test(c.typed)
		s.SetTTY(true, true, true)
		got, err := s.Confirm("Scrap R1?")
		if err != nil || got != c.want {
			t.Errorf("typed %q: got %v, %v; want %v", c.typed, got, err, c.want)
		}
		if !strings.Contains(talk.String(), "Scrap R1? [y/N]") {
			t.Errorf("typed %q: question was %q", c.typed, talk)
		}
	}
}

func TestConfirmAsksNobody(t *testing.T) {
	for name, set := range map[string]func(*Streams){
		"piped input":   func(s *Streams) { s.SetTTY(false, true, true) },
		"piped talk":    func(s *Streams) { s.SetTTY(true, true, false) },
		"no input flag": func(s *Streams) { s.SetTTY(true, true, true); s.NoInput = true },
	} {
		s, _, talk := Test("y\n")
		set(s)
		if _, err := s.Confirm("Scrap R1?"); !errors.Is(err, ErrNobodyToAsk) {
			t.Errorf("%s: got %v, want ErrNobodyToAsk", name, err)
		}
		if talk.Len() > 0 {
			t.Errorf("%s: asked %q although nobody could answer", name, talk)
		}
	}
}

func TestMarksOnlyWithColour(t *testing.T) {
	s, _, _ := Test("")
	if got := s.Bad("no"); got != "no" {
		t.Errorf("without colour: %q", got)
	}
	s.colour = true
	if got := s.Bad("no"); got != "\x1b[31mno\x1b[0m" {
		t.Errorf("with colour: %q", got)
	}
	s.NoColour()
	if got := s.Bad("no"); got != "no" {
		t.Errorf("after NoColour: %q", got)
	}
}

func TestQuietDropsTalkNotData(t *testing.T) {
	s, out, talk := Test("")
	s.Quiet = true
	s.Say("recorded")
	s.Print("R1")
	if talk.Len() != 0 || out.String() != "R1\n" {
		t.Errorf("talk %q, data %q", talk, out)
	}
}
