package change

import (
	"encoding/json"
	"errors"
	"strings"
	"testing"

	"barrelbook/client/cli/kit"
	"barrelbook/client/cli/kit/kittest"
	"barrelbook/client/oapi"
	"barrelbook/client/render"
	"barrelbook/client/term"
)

const campaigns = `{"items":[{"name":"C9","mill":"M","starts_at":"2026-03-04T00:00:00Z","piece_count":1,"tonnage_t":1,"planned_stops":[]}]}`

func TestPlanAsksForTheNewest(t *testing.T) {
	for _, c := range []struct {
		line, body string
		calls      int
	}{
		{"", `{"campaign":"C9"}`, 2},
		{"C1", `{"campaign":"C1"}`, 1},
		{"C1 --stand F3,F4 --confidence 0.9 --grinders 2 --explain", `{"campaign":"C1","confidence":0.9,"explain":true,"grinder_count":2,"stands":["F3","F4"]}`, 1},
	} {
		answers := &kittest.Answers{T: t, Canned: map[string]string{"GET /v1/campaigns": campaigns, "POST /v1/change-plans": kittest.Fixture(t, "plan.json")}}
		w := kittest.New(t, answers, "")
		if err := kittest.Run(t, NewCmdPlan(w.Factory, nil), c.line); err != nil {
			t.Fatal(err)
		}
		if got := strings.TrimSpace(answers.Sent[len(answers.Sent)-1]); got != c.body || len(answers.Sent) != c.calls {
			t.Errorf("%q: sent %s in %d calls, want %s in %d", c.line, got, len(answers.Sent), c.body, c.calls)
		}
	}
}

func TestPlanWithoutACampaign(t *testing.T) {
	w := kittest.New(t, &kittest.Answers{T: t, Canned: map[string]string{"GET /v1/campaigns": `{"items":[]}`}}, "")
	err := kittest.Run(t, NewCmdPlan(w.Factory, nil), "")
	var missing *kit.Missing
	var failure *kit.Failure
	if !errors.As(err, &missing) || !errors.As(err, &failure) || failure.Next[0] != "barrelbook campaign load FILE" {
		t.Errorf("got %v", err)
	}
}

func TestPlanIsGolden(t *testing.T) {
	w := kittest.New(t, &kittest.Answers{T: t, Canned: map[string]string{"POST /v1/change-plans": kittest.Fixture(t, "plan.json")}}, "")
	if err := kittest.Run(t, NewCmdPlan(w.Factory, nil), "next"); err != nil {
		t.Fatal(err)
	}
	kittest.Golden(t, "plan.txt", w.Out.String())
}

// What cannot be met is said first, and the plan in one line last.
func TestPlanThatCannotBe(t *testing.T) {
	var p oapi.ChangePlan
	if err := json.Unmarshal([]byte(kittest.Fixture(t, "plan.json")), &p); err != nil {
		t.Fatal(err)
	}
	p.Feasible, p.CannotMeet = false, []string{"F3 has no ready set before piece 20"}
	s, out, _ := term.Test("")
	PrintPlan(s, render.Units{}, p)
	text := out.String()
	if first := strings.Index(text, "F3 has no ready set"); first < 0 || first > strings.Index(text, "Before piece") {
		t.Errorf("what cannot be met is not first:\n%s", text)
	}
	if !strings.HasSuffix(text, "No plan keeps every stand within the limits entered.\n") {
		t.Errorf("the answer is not last:\n%s", text)
	}
}

func TestSummaryOfWhatIsNotProved(t *testing.T) {
	s, _, _ := term.Test("")
	got := summary(s, oapi.ChangePlan{Feasible: true, Cost: 123450, Gap: 0.034, Stops: []oapi.PlanStop{{Changes: make([]oapi.PlanChange, 2)}}})
	if want := "2 stand changes at 1 stop. Cost 1234.50 in the mill's money, at most 3.4 % of it above the least."; got != want {
		t.Errorf("got %q, want %q", got, want)
	}
}

func TestRecordSends(t *testing.T) {
	const done = `{"name":"change-1","stand":"F3","role":"work","at":"2026-03-04T14:05:00Z","out":[{"position":"top_work","roll":"R1","set":"S1","diameter_mm":738.412}],"in":[{"position":"top_work","roll":"R3","set":"S2","diameter_mm":740.001}]}`
	for _, c := range []struct{ units, line, body string }{
		{"metric", "F3 --in S2", `{"role":"work","set_in":"S2","stand":"F3"}`},
		{"metric", `F3 --role backup --in S2 --why planned --note n --at 2026-03-04T10:00Z`, `{"at":"2026-03-04T10:00:00Z","note":"n","role":"backup","set_in":"S2","stand":"F3","why":"planned"}`},
		{"metric", "F3 --empty --tonnage 2400 --length 41km --specific-force 9.5kN/mm", `{"empty":true,"role":"work","stand":"F3","stated_rolled_km":41,"stated_specific_force_kn_per_mm":9.5,"stated_tonnage_t":2400}`},
		{"imperial-short", "F3 --empty --tonnage 1000 --length 25mi", `{"empty":true,"role":"work","stand":"F3","stated_rolled_km":40.2336,"stated_tonnage_t":907.18474}`},
	} {
		answers := &kittest.Answers{T: t, Canned: map[string]string{"POST /v1/changes": done}}
		w := kittest.New(t, answers, "").Units(c.units)
		if err := kittest.Run(t, NewCmdRecord(w.Factory, nil), c.line); err != nil {
			t.Fatal(err)
		}
		if got := strings.TrimSpace(answers.Sent[0]); got != c.body {
			t.Errorf("%q: sent %s, want %s", c.line, got, c.body)
		}
		kittest.Contains(t, w.Out.String(), "Roll change at F3", "R1", "R3")
		if !strings.HasSuffix(w.Out.String(), "In F3: R3 as its work rolls.\nOut came R1. When they are cool: barrelbook regrind advise R1\n") {
			t.Errorf("what is in and what is next do not come last:\n%s", w.Out)
		}
	}
}

func TestRecordOfAnEmptyStand(t *testing.T) {
	const done = `{"name":"change-1","stand":"F3","role":"work","at":"2026-03-04T14:05:00Z","out":[{"position":"bottom_work","roll":"R2","set":"S1"},{"position":"top_work","roll":"R1","set":"S1"}]}`
	w := kittest.New(t, &kittest.Answers{T: t, Canned: map[string]string{"POST /v1/changes": done}}, "")
	if err := kittest.Run(t, NewCmdRecord(w.Factory, nil), "F3 --empty"); err != nil {
		t.Fatal(err)
	}
	kittest.Contains(t, w.Out.String(), "F3 stands without work rolls.", "Out came R1 and R2.")
}

func TestRecordRefuses(t *testing.T) {
	for line, wrong := range map[string]string{
		"":                                     "needs STAND",
		"F3 --why because":                     "must be one of",
		"F3":                                   "which set goes into F3 with --in, or --empty", // a stand is not emptied unasked
		"F3 --in S2 --empty":                   "cannot both be",
		"F3 --in S2 --tonnage 2400ton":         "--tonnage",
		"F3 --empty --tonnage 1t --length 1mi": "--length",
	} {
		w := kittest.New(t, &kittest.Answers{T: t}, "")
		if err := kittest.Run(t, NewCmdRecord(w.Factory, nil), line); err == nil || !strings.Contains(err.Error(), wrong) {
			t.Errorf("%q: got %v, want %q", line, err, wrong)
		}
	}
}

// TestLateChangesSayWhatMoved: a change told late, undone or given another moment
// says which rolls bear now what others had.
func TestLateChangesSayWhatMoved(t *testing.T) {
	canned := map[string]string{"POST /v1/changes": kittest.Fixture(t, "late.json"), "POST /v1/changes/change-1/withdrawals": kittest.Fixture(t, "late.json"), "POST /v1/changes/change-1/corrections": kittest.Fixture(t, "late.json")}
	for name, run := range map[string]func(w *kittest.World) error{
		"record": func(w *kittest.World) error {
			return kittest.Run(t, NewCmdRecord(w.Factory, nil), "F3 --in B --at 2026-03-04T14:05Z")
		},
		"correct": func(w *kittest.World) error {
			return kittest.Run(t, NewCmdCorrect(w.Factory, nil), "change-1 --at 2026-03-04T14:05Z --reason misread --yes")
		},
		"undo": func(w *kittest.World) error {
			return kittest.Run(t, NewCmdUndo(w.Factory, nil), "change-1 --reason misread --yes")
		},
	} {
		w := kittest.New(t, &kittest.Answers{T: t, Canned: canned}, "")
		if err := run(w); err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		if got := w.Out.String(); !strings.Contains(got, "Booked on other rolls than before:") || !strings.Contains(got, "B1: 12 pieces, 1200 t from A1") || !strings.Contains(got, "no roll: 1 piece, 20.00 t from C1") {
			t.Errorf("%s does not say what moved:\n%s", name, got)
		}
	}
}

func TestCorrectSendsTheMoment(t *testing.T) {
	answers := &kittest.Answers{T: t, Canned: map[string]string{"POST /v1/changes/change-1/corrections": kittest.Fixture(t, "late.json")}}
	w := kittest.New(t, answers, "")
	if err := kittest.Run(t, NewCmdCorrect(w.Factory, nil), "change-1 --at 2026-03-04T14:05Z --reason misread --yes"); err != nil {
		t.Fatal(err)
	}
	if got, want := strings.TrimSpace(answers.Sent[0]), `{"at":"2026-03-04T14:05:00Z","reason":"misread"}`; got != want {
		t.Errorf("sent %s, want %s", got, want)
	}
}
