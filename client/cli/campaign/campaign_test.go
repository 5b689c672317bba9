package campaign

import (
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"barrelbook/client/cli/kit/kittest"
	"barrelbook/client/oapi"
	"barrelbook/client/render"
	"barrelbook/client/term"
)

const one = `{"name":"C9","mill":"M","starts_at":"2026-03-04T00:00:00Z","minutes_per_piece":2.5,"piece_count":2,"tonnage_t":36.5,
 "planned_stops":[{"before_piece":2,"name":"shift change","minutes":15}],
 "pieces":[{"id":"P1","mass_t":18.2,"width_mm":1250,"entry_thickness_mm":32,"block":"b1","passes":[{"stand":"F1","exit_thickness_mm":18.4}]},
           {"id":"P2","mass_t":18.3,"width_mm":1250,"entry_thickness_mm":32,"passes":[{"stand":"F1","exit_thickness_mm":18.4}]}]}`

func TestCheckSends(t *testing.T) {
	for _, c := range []struct{ line, path, body string }{
		{"", "C9", `{}`},
		{"C1", "C1", `{}`},
		{"C1 --stand F3 --with S81", "C1", `{"stand":"F3","with_set":"S81"}`},
		{"C1 --from-piece 120 --explain --as-of 2026-03-04", "C1", `{"as_of":"2026-03-04T00:00:00Z","explain":true,"from_piece":120}`},
	} {
		answers := &kittest.Answers{T: t, Canned: map[string]string{"GET /v1/campaigns": `{"items":[` + one + `]}`,
			"POST /v1/campaigns/" + c.path + "/finish-checks": kittest.Fixture(t, "check.json")}}
		w := kittest.New(t, answers, "")
		if err := kittest.Run(t, NewCmdCheck(w.Factory, nil), c.line); err != nil {
			t.Fatal(err)
		}
		if got := strings.TrimSpace(answers.Sent[len(answers.Sent)-1]); got != c.body {
			t.Errorf("%q: sent %s, want %s", c.line, got, c.body)
		}
	}
	w := kittest.New(t, &kittest.Answers{T: t}, "")
	if err := kittest.Run(t, NewCmdCheck(w.Factory, nil), "C1 --with S81"); err == nil || !strings.Contains(err.Error(), "--stand") {
		t.Errorf("a set for no stand: %v", err)
	}
}

func TestCheckIsGolden(t *testing.T) {
	for name, line := range map[string]string{"check.txt": "next", "check.explain.txt": "next --explain"} {
		w := kittest.New(t, &kittest.Answers{T: t, Canned: map[string]string{"POST /v1/campaigns/next/finish-checks": kittest.Fixture(t, "check.json")}}, "")
		if err := kittest.Run(t, NewCmdCheck(w.Factory, nil), line); err != nil {
			t.Fatal(err)
		}
		kittest.Golden(t, name, w.Out.String())
	}
}

// The last line is the answer, whatever the answer is.
func TestTheAnswerComesLast(t *testing.T) {
	stand := func(name string, v oapi.FinishVerdict, blocks ...string) oapi.StandFinish {
		return oapi.StandFinish{Stand: name, Verdict: v, Sentence: name + " will not finish", Blocks: blocks}
	}
	for _, c := range []struct {
		verdict oapi.FinishVerdict
		stands  []oapi.StandFinish
		last    string
		first   string
	}{
		{oapi.FinishVerdictYes, []oapi.StandFinish{stand("F1", oapi.FinishVerdictYes)}, "Yes: the sets finish campaign C within the limits entered.", ""},
		{oapi.FinishVerdictMarginal, []oapi.StandFinish{stand("F1", oapi.FinishVerdictYes), stand("F2", oapi.FinishVerdictMarginal)}, "Marginal: whether the sets finish campaign C is not sure at F2.", ""},
		{oapi.FinishVerdictNo, []oapi.StandFinish{stand("F1", oapi.FinishVerdictNo), stand("F2", oapi.FinishVerdictNo)}, "No: the sets do not finish campaign C at F1 and F2.", "What cannot be met:\n  - F1 will not finish"},
		{oapi.FinishVerdictBlocked, []oapi.StandFinish{stand("F1", oapi.FinishVerdictBlocked, "no roll is in it")}, "Blocked: campaign C cannot be rolled at F1 as things are.", "What cannot be met:\n  - F1: no roll is in it"},
	} {
		s, out, _ := term.Test("")
		PrintCheck(s, render.Units{}, oapi.FinishCheck{Campaign: "C", Verdict: c.verdict, Stands: c.stands}, false)
		if !strings.HasSuffix(out.String(), c.last+"\n") || !strings.Contains(out.String(), c.first) {
			t.Errorf("%s: got\n%s\nwant last %q and %q", c.verdict, out, c.last, c.first)
		}
	}
}

func TestLoad(t *testing.T) {
	dir := t.TempDir()
	file := filepath.Join(dir, "programme.json")
	if err := os.WriteFile(file, []byte(`{"mill": "M", "pieces": []}`), 0o600); err != nil {
		t.Fatal(err)
	}
	for _, line := range []string{file, "-", ""} {
		answers := &kittest.Answers{T: t, Status: 201, Canned: map[string]string{"POST /v1/campaigns": one}}
		w := kittest.New(t, answers, `{"mill": "M", "pieces": []}`)
		if err := kittest.Run(t, NewCmdLoad(w.Factory, nil), line); err != nil {
			t.Fatal(err)
		}
		if answers.Sent[0] != `{"mill": "M", "pieces": []}` {
			t.Errorf("%q: the file was not sent as it is: %s", line, answers.Sent[0])
		}
		kittest.Contains(t, w.Out.String(), "Campaign C9 of M", "before piece 2, shift change, 15 min")
		kittest.Contains(t, w.Err.String(), "barrelbook campaign check C9")
	}
}

func TestLoadRefuses(t *testing.T) {
	for _, c := range []struct{ in, line, wrong string }{
		{"{\n\"mill\": \"M\",\n\"pieces\": [,]}", "-", "line 3 of what was piped in is not JSON"},
		{"{\"mill\": \"M\",", "-", "ends in the middle"},
		{"", "-", "what was piped in is empty"},
		{"", "/nowhere/programme.json", "no such file"},
	} {
		w := kittest.New(t, &kittest.Answers{T: t}, c.in)
		if err := kittest.Run(t, NewCmdLoad(w.Factory, nil), c.line); err == nil || !strings.Contains(err.Error(), c.wrong) {
			t.Errorf("%q %q: got %v, want %q", c.in, c.line, err, c.wrong)
		}
	}
	w := kittest.New(t, &kittest.Answers{T: t}, "")
	w.Term.SetTTY(true, true, true)
	if err := kittest.Run(t, NewCmdLoad(w.Factory, nil), "-"); err == nil || !strings.Contains(err.Error(), "FILE") {
		t.Errorf("nobody types a programme: %v", err)
	}
}

func TestShowIsGolden(t *testing.T) {
	w := kittest.New(t, &kittest.Answers{T: t, Canned: map[string]string{"GET /v1/campaigns/C9": one}}, "")
	if err := kittest.Run(t, NewCmdShow(w.Factory, nil), "C9 --pieces"); err != nil {
		t.Fatal(err)
	}
	kittest.Golden(t, "show.txt", w.Out.String())
	if !json.Valid([]byte(one)) {
		t.Error("the fixture is broken")
	}
}
