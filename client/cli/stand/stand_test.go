package stand

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"barrelbook/client/cli/kit/kittest"
)

func TestShowIsGolden(t *testing.T) {
	w := kittest.New(t, &kittest.Answers{T: t, Canned: map[string]string{"GET /v1/stands/F3": kittest.Fixture(t, "stand.json")}}, "")
	if err := kittest.Run(t, NewCmdShow(w.Factory, nil), "F3"); err != nil {
		t.Fatal(err)
	}
	kittest.Golden(t, "show.txt", w.Out.String())
}

func TestAddSends(t *testing.T) {
	const kept = `{"name":"F3","mill":"M","order":3,"arrangement":"four_high","version":1}`
	for _, c := range []struct{ units, line, body string }{
		{"metric", "F3 --mill M --order 3", `{"arrangement":"four_high","mill":"M","name":"F3","order":3}`},
		{"metric", "F3 --mill M --order 3 --arrangement two-high --orientation vertical --reversing --max-force 30MN --max-rpm 260",
			`{"arrangement":"two_high","max_force_kn":30000,"max_rpm":260,"mill":"M","name":"F3","order":3,"orientation":"vertical","reversing":true}`},
		{"imperial-long", `F3 --mill M --order 3 --max-force 1000 --max-stack 100in`, `{"arrangement":"four_high","max_force_kn":9964.01641818352,"max_stack_mm":2540,"mill":"M","name":"F3","order":3}`},
	} {
		answers := &kittest.Answers{T: t, Status: 201, Canned: map[string]string{"POST /v1/stands": kept}}
		w := kittest.New(t, answers, "").Units(c.units)
		if err := kittest.Run(t, NewCmdAdd(w.Factory, nil), c.line); err != nil {
			t.Fatal(err)
		}
		if got := strings.TrimSpace(answers.Sent[0]); got != c.body {
			t.Errorf("%q: sent %s, want %s", c.line, got, c.body)
		}
	}
}

func TestAdjustKeepsTheRest(t *testing.T) {
	const view = `{"stand":{"name":"F3","mill":"M","order":3,"arrangement":"two_high","reversing":true,"max_force_kn":30000,"version":5},"positions":[]}`
	for _, c := range []struct{ line, body string }{
		{"F3 --max-force 28MN", `{"arrangement":"two_high","max_force_kn":28000,"mill":"M","name":"F3","order":3,"reversing":true}`},
		{"F3 --reversing=false --max-shim 12", `{"arrangement":"two_high","max_force_kn":30000,"max_shim_mm":12,"mill":"M","name":"F3","order":3}`},
	} {
		answers := &kittest.Answers{T: t, Canned: map[string]string{"GET /v1/stands/F3": view, "PUT /v1/stands/F3": `{"name":"F3","mill":"M","order":3,"arrangement":"two_high"}`}}
		w := kittest.New(t, answers, "")
		if err := kittest.Run(t, NewCmdAdjust(w.Factory, nil), c.line); err != nil {
			t.Fatal(err)
		}
		if got := answers.Sent[1]; got != c.body || answers.Headers[1].Get("If-Match") != `"5"` {
			t.Errorf("%q: sent %s at %s, want %s", c.line, got, answers.Headers[1].Get("If-Match"), c.body)
		}
	}
	w := kittest.New(t, &kittest.Answers{T: t}, "")
	if err := kittest.Run(t, NewCmdAdjust(w.Factory, nil), "F3"); err == nil || !strings.Contains(err.Error(), "what is to change") {
		t.Errorf("nothing named: %v", err)
	}
}

func TestShowDraws(t *testing.T) {
	file := filepath.Join(t.TempDir(), "f3.svg")
	w := kittest.New(t, &kittest.Answers{T: t, Canned: map[string]string{"GET /v1/stands/F3": kittest.Fixture(t, "stand.json")}}, "").Units("imperial-short")
	if err := kittest.Run(t, NewCmdShow(w.Factory, nil), "F3 --svg "+file); err != nil {
		t.Fatal(err)
	}
	drawn, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{"line load, lbf/in", "wear on diameter, in", "along the barrel from its middle, in", "HW-201 on FB-103", "HW-202 on FB-104"} {
		if !strings.Contains(string(drawn), want) {
			t.Errorf("%q is not written in the drawing", want)
		}
	}
}

// An empty stand has nothing to draw, and no empty file is left for it.
func TestShowDoesNotDrawNothing(t *testing.T) {
	file := filepath.Join(t.TempDir(), "f3.svg")
	const empty = `{"stand":{"name":"F3","mill":"M","order":3,"arrangement":"four_high","version":1},"positions":[{"position":"top_work"}]}`
	w := kittest.New(t, &kittest.Answers{T: t, Canned: map[string]string{"GET /v1/stands/F3": empty}}, "")
	if err := kittest.Run(t, NewCmdShow(w.Factory, nil), "F3 --svg "+file); err == nil || !strings.Contains(err.Error(), "nothing to draw") {
		t.Errorf("error %v", err)
	}
	if _, err := os.Stat(file); err == nil {
		t.Error("a file was left")
	}
}
