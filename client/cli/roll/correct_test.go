package roll

import (
	"strings"
	"testing"

	"barrelbook/client/cli/kit/kittest"
)

// TestCorrectSendsOnlyWhatWasGiven: the receipt that holds is named, and of the
// scrap limits those that were not given stay.
func TestCorrectSendsOnlyWhatWasGiven(t *testing.T) {
	const book = `{"items":[{"number":1,"kind":"received","at":"2026-01-01T00:00:00Z","recorded_at":"2026-01-01T00:00:00Z","by":"a","sentence":"s","body":{},"replaced_by":3},` +
		`{"number":2,"kind":"held","at":"2026-01-01T00:00:00Z","recorded_at":"2026-01-01T00:00:00Z","by":"a","sentence":"s","body":{}},` +
		`{"number":3,"kind":"corrected","at":"2026-01-01T00:00:00Z","recorded_at":"2026-01-01T00:00:00Z","by":"a","sentence":"s","body":{}}]}`
	roll := kittest.Fixture(t, "roll.json") // its shell ends at 704 mm
	for _, c := range []struct{ line, body string }{
		{`HW-201 --diameter 780.5 --reason "two digits swapped"`, `{"entry":3,"reason":"two digits swapped","receipt":{"diameter_mm":780.5}}`},
		{`HW-201 --role backup --ground=false --grade hss --stand F1 --reason misread`, `{"entry":3,"reason":"misread","receipt":{"grade":"hss","ground":false,"role":"backup","stands":["F1"]}}`},
		{`HW-201 --clear scrap-shell,supplier,neck --reason misread`, `"receipt":{"clear":["supplier","neck_diameter_mm"],"scrap":{"nominal_mm":700}}}`},
		{`HW-201 --neck-radius 55 --reason misread`, `"receipt":{"neck_fillet_radius_mm":55}}`},
		{`HW-201 --scrap 690 --received 2026-01-02 --reason misread`, `"receipt":{"received_at":"2026-01-02T00:00:00Z","scrap":{"nominal_mm":690,"shell_depth_mm":704}}}`},
	} {
		answers := &kittest.Answers{T: t, Canned: map[string]string{"GET /v1/rolls/HW-201": roll, "GET /v1/rolls/HW-201/entries": book, "POST /v1/rolls/HW-201/corrections": kittest.Fixture(t, "../../regrind/testdata/correction.json")}}
		w := kittest.New(t, answers, "")
		if err := kittest.Run(t, NewCmdCorrect(w.Factory, nil), c.line+" --yes"); err != nil {
			t.Fatal(err)
		}
		if got := strings.TrimSpace(answers.Sent[len(answers.Sent)-1]); !strings.Contains(got, c.body) {
			t.Errorf("%q: sent %s, want %s", c.line, got, c.body)
		}
	}
}

func TestCorrectOfNothingIsRefused(t *testing.T) {
	w := kittest.New(t, &kittest.Answers{T: t, Canned: map[string]string{"GET /v1/rolls/HW-201": kittest.Fixture(t, "roll.json")}}, "")
	if err := kittest.Run(t, NewCmdCorrect(w.Factory, nil), "HW-201 --reason misread"); err == nil || !strings.Contains(err.Error(), "say what was wrong") {
		t.Errorf("error %v", err)
	}
}
