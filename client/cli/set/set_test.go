package set

import (
	"strings"
	"testing"

	"barrelbook/client/cli/kit/kittest"
)

func TestShowAndListAreGolden(t *testing.T) {
	set := kittest.Fixture(t, "set.json")
	w := kittest.New(t, &kittest.Answers{T: t, Canned: map[string]string{"GET /v1/sets/CW-set-05": set}}, "")
	if err := kittest.Run(t, NewCmdShow(w.Factory, nil), "CW-set-05"); err != nil {
		t.Fatal(err)
	}
	kittest.Golden(t, "show.txt", w.Out.String())
	answers := &kittest.Answers{T: t, Canned: map[string]string{"GET /v1/sets": `{"items":[` + set + `]}`}}
	w = kittest.New(t, answers, "")
	if err := kittest.Run(t, NewCmdList(w.Factory, nil), "--ready --role work"); err != nil {
		t.Fatal(err)
	}
	kittest.Golden(t, "list.txt", w.Out.String())
	kittest.Contains(t, answers.Queries[0], "ready=true", "role=work")
}

func TestBuildSends(t *testing.T) {
	answers := &kittest.Answers{T: t, Status: 201, Canned: map[string]string{"POST /v1/sets": kittest.Fixture(t, "set.json")}}
	w := kittest.New(t, answers, "")
	if err := kittest.Run(t, NewCmdBuild(w.Factory, nil), "R1 R2 --name S1 --at 2026-03-04T10:00Z"); err != nil {
		t.Fatal(err)
	}
	if got, want := strings.TrimSpace(answers.Sent[0]), `{"at":"2026-03-04T10:00:00Z","bottom":"R2","name":"S1","top":"R1"}`; got != want {
		t.Errorf("sent %s, want %s", got, want)
	}
	if err := kittest.Run(t, NewCmdBuild(w.Factory, nil), "R1"); err == nil || !strings.Contains(err.Error(), "needs BOTTOM") {
		t.Errorf("one roll: %v", err)
	}
}

// A set is broken at the version it was read with.
func TestBreakNamesTheVersion(t *testing.T) {
	set := kittest.Fixture(t, "set.json")
	answers := &kittest.Answers{T: t, Canned: map[string]string{"GET /v1/sets/S1": set, "POST /v1/sets/S1/breakings": set}}
	w := kittest.New(t, answers, "")
	if err := kittest.Run(t, NewCmdBreak(w.Factory, nil), "S1 --reason regrind"); err != nil {
		t.Fatal(err)
	}
	if got := answers.Headers[1].Get("If-Match"); got != `"5"` {
		t.Errorf("If-Match %s, want the ETag that was read", got)
	}
	if answers.Headers[1].Get("Idempotency-Key") == "" {
		t.Error("sent without a key")
	}
}
