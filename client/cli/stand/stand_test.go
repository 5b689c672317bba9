package stand

import (
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
