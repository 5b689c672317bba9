package rest_test

import (
	"encoding/json"
	"fmt"
	"strings"
	"testing"
	"time"

	"barrelbook/api/app/port"
)

// TestLifeOfARoll follows the job: receive, pair, mount, roll, withdraw, grind,
// correct, and the three questions, on both databases.
func TestLifeOfARoll(t *testing.T) {
	both(t, func(t *testing.T, s *shop) {
		s.rolling()
		mounted := s.now.Add(-time.Hour)
		var lines []string
		for i := range 40 {
			lines = append(lines, piece(fmt.Sprint("C", i), mounted.Add(time.Duration(i+1)*time.Minute)))
		}
		status, answers := s.importLines(strings.Join(lines, "\n"))
		if status != 200 || len(answers) != 41 {
			t.Fatalf("import: %d with %d lines: %s", status, len(answers), answers[len(answers)-1])
		}
		if why := holdsJSON(`{"summary":true,"line_count":40,"stored_count":40,"duplicate_count":0,"refused_count":0}`, answers[40]); why != "" {
			t.Errorf("summary %s: %s", why, answers[40])
		}
		s.run([]step{
			{name: "what the roll has borne", as: port.Viewer, do: "GET /v1/rolls/WF1T", status: 200,
				want: `{"state":{"stage":"mounted","stand":"F1"},"totals":{"piece_count":40,"tonnage_t":800},"mounting":{"position":"top_work"}}`},
			{name: "the stand", as: port.Viewer, do: "GET /v1/stands/F1", status: 200, want: `{"stand":{"name":"F1"},"stack_mm":4400}`},
			{name: "no stock to grind while mounted", as: port.Grinder, do: "POST /v1/rolls/WF1T/regrinds", body: `{"found_mm":699.8,"ground_mm":699.4,"purpose":"wear"}`, status: 409,
				want: `{"type":"/problems/conflict","detail":"~F1"}`},
			{name: "load a campaign", as: port.Shift, do: "POST /v1/campaigns", body: programme("C1", 30), status: 201, want: `{"piece_count":30,"tonnage_t":600}`, header: map[string]string{"Location": "/v1/campaigns/C1"}},
			{name: "can it finish", as: port.Viewer, do: "POST /v1/campaigns/C1/finish-checks", body: `{}`, status: 200, want: `{"campaign":"C1","model":"~finish"}`},
			{name: "plan the changes", as: port.Viewer, do: "POST /v1/change-plans", body: `{"campaign":"C1"}`, status: 200, want: `{"campaign":"C1","feasible":true,"cannot_meet":[]}`},
			{name: "take the set out", later: time.Hour, as: port.Shift, do: "POST /v1/changes", body: `{"stand":"F1","role":"work","empty":true,"why":"wear"}`, status: 201, want: `{"set_out":"WF1","out":[{"roll":"WF1T","usage":{"tonnage_t":800}},{"roll":"WF1B"}]}`},
			{name: "what to take off", later: 14 * time.Hour, as: port.Viewer, do: "POST /v1/rolls/WF1T/regrind-advice", body: `{"found_mm":699.85}`, status: 200, want: `{"roll":"WF1T","found_mm":699.85}`},
			{name: "in small letters", as: port.Viewer, do: "GET /v1/rolls/wf1t", status: 200, want: `{"number":"WF1T"}`},
			{name: "all in small letters", as: port.Shift, do: "POST /v1/changes?dry_run=true", body: `{"stand":"f1","role":"work","set_in":"wf1"}`, status: 409, want: `{"detail":"~WF1T"}`},
			{name: "listed by small letters", as: port.Viewer, do: "GET /v1/rolls?mill=HOT&stand=f2&role=work", status: 200, want: `{"items":[{"number":"WF2B"},{"number":"WF2T"}]}`},
			{name: "a roll nobody knows", as: port.Viewer, do: "GET /v1/rolls/WF1R", status: 404, want: `{"detail":"~did you mean WF1"}`},
			{name: "a stand nobody knows", as: port.Viewer, do: "GET /v1/stands/F9", status: 404, want: `{"detail":"~did you mean F"}`},
			{name: "a mill nobody knows", as: port.Engineer, do: "POST /v1/rolls", status: 422, want: `{"errors":[{"pointer":"#/mill","detail":"~did you mean hot?"}]}`,
				body: `{"number":"R9","role":"work","grade":"HSS","mill":"hott","diameter_mm":700,"barrel_length_mm":1780,"scrap":{"nominal_mm":640},"received_at":"2030-01-01T00:00:00Z"}`},
			{name: "a slip is asked about", as: port.Grinder, do: "POST /v1/rolls/WF1T/regrinds", body: `{"found_mm":699.85,"ground_mm":699.4,"purpose":"wear","grinder":"G1","confirmed":["stock"]}`, status: 422,
				want: `{"type":"/problems/to-be-confirmed","questions":[{"question":"wear","pointer":"#/found_mm","says":"~what was rolled accounts for"}],"errors":[{"pointer":"#/found_mm"}],"next":[{"arguments":{"confirmed":"wear"}}]}`},
			{name: "a question nobody knows", as: port.Grinder, do: "POST /v1/rolls/WF1T/regrinds", body: `{"found_mm":699.85,"ground_mm":699.4,"purpose":"wear","confirmed":["all"]}`, status: 400},
			{name: "emptied unasked", as: port.Shift, do: "POST /v1/changes", body: `{"stand":"F2","role":"work"}`, status: 422,
				want: `{"type":"/problems/to-be-confirmed","errors":[{"pointer":"#/set_in"}],"next":[{"operation":"listSets"},{"arguments":{"empty":"true"}}]}`},
			{name: "emptied and filled", as: port.Shift, do: "POST /v1/changes", body: `{"stand":"F2","role":"work","set_in":"WF2","empty":true}`, status: 422, want: `{"errors":[{"pointer":"#/empty"}]}`},
			{name: "grind it", as: port.Grinder, do: "POST /v1/rolls/WF1T/regrinds", body: `{"found_mm":699.85,"ground_mm":699.4,"purpose":"wear","confirmed":["wear","stock"],"grinder":"G1"}`, status: 201,
				want: `{"last_ground_mm":700,"wear_um":150,"stock_mm":0.45,"stock_left_mm":59.4,"partner":"WF1B","campaign":{"stand":"F1"}}`, headers: map[string]string{"Idempotency-Key": "g-1"}},
			{name: "the same again is the same", as: port.Grinder, do: "POST /v1/rolls/WF1T/regrinds", body: `{"ground_mm":699.40, "found_mm":699.85,"purpose":"wear","confirmed":["wear","stock"],"grinder":"G1"}`, status: 201,
				want: `{"stock_mm":0.45}`, headers: map[string]string{"Idempotency-Key": "g-1"}},
			{name: "another body under the key", as: port.Grinder, do: "POST /v1/rolls/WF1T/regrinds", body: `{"found_mm":699.85,"ground_mm":699.3,"purpose":"wear","confirmed":["wear","stock"]}`, status: 422,
				want: `{"type":"/problems/key-reused"}`, headers: map[string]string{"Idempotency-Key": "g-1"}},
			{name: "the same without a key is a double", as: port.Grinder, do: "POST /v1/rolls/WF1T/regrinds", body: `{"found_mm":699.85,"ground_mm":699.4,"purpose":"wear","confirmed":["wear","stock"],"grinder":"G1"}`, status: 409, want: `{"type":"/problems/conflict","detail":"~in the book already"}`},
			{name: "one entry came of it all", as: port.Viewer, do: "GET /v1/rolls/WF1T", status: 200, want: `{"version":5,"state":{"regrind_count":1,"diameter_mm":699.4}}`},
			{name: "hold", as: port.Grinder, do: "POST /v1/rolls/WF1T/holds", body: `{"reason":"chatter marks"}`, status: 201, want: `{"state":{"held":"chatter marks","fit":{"verdict":"not_fit"}}}`},
			{name: "release", as: port.Engineer, do: "POST /v1/rolls/WF1T/releases", body: `{"reason":"looked at again"}`, status: 201, want: `{"version":7}`},
			{name: "correct the grind", as: port.Grinder, do: "POST /v1/rolls/WF1T/corrections", body: `{"entry":5,"reason":"read the wrong gauge","regrind":{"found_mm":699.85,"ground_mm":699.41,"purpose":"wear","confirmed":["stock"]}}`, status: 201,
				want: `{"roll":{"state":{"diameter_mm":699.41}},"entry":8,"corrects":5,"changed":[{"field":"ground_mm","was":"699.4","is":"699.41"}]}`},
			{name: "the book", as: port.Viewer, do: "GET /v1/rolls/WF1T/entries?limit=1000", status: 200,
				want: `{"items":[{"kind":"received"},{"kind":"paired"},{"kind":"mounted"},{"kind":"withdrawn"},{"kind":"reground","replaced_by":8},{"kind":"held"},{"kind":"released"},{"kind":"corrected","body":{"entry":5,"kind":"reground"}}]}`},
			{name: "as of before the grind", as: port.Viewer, do: "GET /v1/rolls/WF1T?as_of=2031-03-03T12:00:00Z", status: 200, want: `{"state":{"diameter_mm":700,"stage":"worn"}}`},
			{name: "an incident", as: port.Grinder, do: "POST /v1/incidents", body: `{"what":"cobble","stand":"F2"}`, status: 201, want: `{"what":"cobble"}`},
			{name: "its list", as: port.Viewer, do: "GET /v1/incidents", status: 200, want: `{"items":[{"what":"cobble","stand":"F2"}]}`},
			{name: "changes", as: port.Viewer, do: "GET /v1/changes?stand=F1&limit=1", status: 200, want: `{"items":[{"set_out":"WF1"}],"next":"~"}`},
			{name: "mountings", as: port.Viewer, do: "GET /v1/rolls/WF1T/mountings", status: 200, want: `{"items":[{"stand":"F1","usage":{"tonnage_t":800}}]}`},
			{name: "works", as: port.Viewer, do: "GET /v1/works", status: 200, want: `{"roll_count":8,"piece_count":40,"mills":["hot"],"actor":"viewer","role":"viewer"}`},
			{name: "audit", as: port.Admin, do: "GET /v1/audit?limit=1", status: 200, want: `{"items":[{"what":"~incident"}]}`},
			{name: "who may sign off", as: port.Shift, do: "POST /v1/sign-offs", body: `{}`, status: 403},
			{name: "sign off", as: port.Engineer, do: "POST /v1/sign-offs", body: `{"note":"end of the month"}`, status: 201, want: `{"number":1,"by":"engineer","note":"end of the month","hash":"~"}`, headers: map[string]string{"Idempotency-Key": "s-1"}},
			{name: "once", as: port.Engineer, do: "POST /v1/sign-offs", body: `{"note":"end of the month"}`, status: 201, want: `{"number":1}`, headers: map[string]string{"Idempotency-Key": "s-1"}},
			{name: "sign-offs", as: port.Viewer, do: "GET /v1/sign-offs", status: 200, want: `{"items":[{"number":1,"by":"engineer"}]}`},
		})
		if err := s.service.Verify(t.Context()); err != nil {
			t.Errorf("the books after it all: %v", err)
		}
		if s.log.Len() > 0 {
			t.Errorf("the service logged failures: %s", s.log)
		}
	})
}

func holdsJSON(want, got string) string {
	var w, g any
	if err := json.Unmarshal([]byte(want), &w); err != nil {
		return err.Error()
	}
	if err := json.Unmarshal([]byte(got), &g); err != nil {
		return err.Error()
	}
	return holds(w, g)
}

func programme(name string, pieces int) string {
	var list []string
	for i := range pieces {
		list = append(list, fmt.Sprintf(`{"id":"P%d","mass_t":20,"width_mm":1250,"entry_thickness_mm":30,"passes":[{"stand":"F1","exit_thickness_mm":16,"force_kn":18000},{"stand":"F2","exit_thickness_mm":9,"force_kn":15000}]}`, i))
	}
	return fmt.Sprintf(`{"name":%q,"mill":"hot","planned_stops":[{"before_piece":10,"name":"noon"}],"pieces":[%s]}`, name, strings.Join(list, ","))
}
