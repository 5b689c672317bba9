package incident

import (
	"strings"
	"testing"

	"barrelbook/client/cli/kit/kittest"
)

// What the shop does next is the last it reads.
func TestRecordNamesTheNextStep(t *testing.T) {
	for line, c := range map[string]struct{ answer, want string }{
		"cobble --stand F3": {`{"name":"incident-1","what":"cobble","stand":"F3","at":"2026-03-04T14:05:00Z","rolls":["R1","R2"],"owed":["R1: the eddy current test is owed"]}`,
			"Once out, none of these rolls goes in again before its tests are passed: barrelbook change record F3 --in SET, test them, and record each: barrelbook roll inspect R1 --test TEST:passed\n"},
		"strip_weld --roll R1": {`{"name":"incident-1","what":"strip_weld","at":"2026-03-04T14:05:00Z","rolls":["R1"],"owed":["R1: the visual test is owed"]}`,
			"R1 goes in again only when its tests are passed: barrelbook roll inspect R1 --test TEST:passed\n"},
	} {
		w := kittest.New(t, &kittest.Answers{T: t, Canned: map[string]string{"POST /v1/incidents": c.answer}}, "")
		if err := kittest.Run(t, NewCmdRecord(w.Factory, nil), line); err != nil {
			t.Fatal(err)
		}
		if out := w.Out.String(); !strings.HasSuffix(out, c.want) || strings.ToUpper(out[:1]) != out[:1] {
			t.Errorf("%s: got\n%s\nwant it to end with %q", line, out, c.want)
		}
	}
}
