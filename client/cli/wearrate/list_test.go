package wearrate

import (
	"strings"
	"testing"

	"barrelbook/client/cli/kit/kittest"
)

func TestListIsGolden(t *testing.T) {
	answers := &kittest.Answers{T: t, Canned: map[string]string{"GET /v1/wear-rates": kittest.Fixture(t, "rates.json")}}
	w := kittest.New(t, answers, "")
	if err := kittest.Run(t, NewCmdList(w.Factory, nil), "--stand F1 --rolls"); err != nil {
		t.Fatal(err)
	}
	kittest.Golden(t, "list.txt", w.Out.String())
	if q := answers.Queries[0]; !strings.Contains(q, "rolls=true") || !strings.Contains(q, "stand=F1") {
		t.Errorf("asked %s", q)
	}
}

func TestNothingLearnedSaysSo(t *testing.T) {
	w := kittest.New(t, &kittest.Answers{T: t, Canned: map[string]string{"GET /v1/wear-rates": `{"version":0,"items":[]}`}}, "")
	if err := kittest.Run(t, NewCmdList(w.Factory, nil), "--all"); err != nil || !strings.Contains(w.Err.String(), "practice list") {
		t.Errorf("%v, said %q", err, w.Err.String())
	}
}
