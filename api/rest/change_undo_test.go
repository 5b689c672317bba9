package rest_test

import (
	"encoding/json"
	"testing"
	"time"

	"barrelbook/api/app/port"
	"barrelbook/api/oapi"
)

// TestUndoChange goes through an undo over HTTP: who may, once per key, what it
// leaves, and what stands in its way.
func TestUndoChange(t *testing.T) {
	both(t, func(t *testing.T, s *shop) {
		s.rolling()
		s.set("NEW", "work", 690)
		w := s.take(step{name: "the wrong set", later: time.Hour, as: port.Shift, do: "POST /v1/changes", body: `{"stand":"F1","role":"work","set_in":"NEW","why":"wear","stated_tonnage_t":500}`, status: 201})
		var wrong oapi.Change
		if err := json.Unmarshal(w.Body.Bytes(), &wrong); err != nil {
			t.Fatal(err)
		}
		undo := "POST /v1/changes/" + wrong.Name + "/withdrawals"
		key := map[string]string{"Idempotency-Key": "u1"}
		s.run([]step{
			{name: "not by a grinder", as: port.Grinder, do: undo, body: `{"reason":"wrong set"}`, status: 403},
			{name: "not without a reason", as: port.Shift, do: undo, body: `{}`, status: 400, want: `{"errors":[{"pointer":"#/reason"}]}`},
			{name: "not an unknown one", as: port.Shift, do: "POST /v1/changes/none/withdrawals", body: `{"reason":"wrong set"}`, status: 404},
			{name: "dry", as: port.Shift, do: undo + "?dry_run=true", body: `{"reason":"wrong set"}`, status: 201, want: `{"undone":{"by":"shift","reason":"wrong set"}}`},
			{name: "still in", as: port.Viewer, do: "GET /v1/rolls/NEWT", status: 200, want: `{"state":{"stage":"mounted","stand":"F1"}}`},
			{name: "undone", later: time.Minute, as: port.Shift, do: undo, body: `{"reason":"wrong set"}`, headers: key, status: 201,
				want: `{"set_out":"WF1","set_in":"NEW","undone":{"at":"2031-03-03T08:01:00Z","by":"shift","reason":"wrong set"},"out":[{"roll":"WF1T","usage":{"tonnage_t":0}},{"roll":"WF1B"}],"in":[{"roll":"NEWT"},{"roll":"NEWB"}]}`},
			{name: "once per key", later: time.Minute, as: port.Shift, do: undo, body: `{"reason":"wrong set"}`, headers: key, status: 201, want: `{"undone":{"at":"2031-03-03T08:01:00Z"}}`},
			{name: "not twice", as: port.Shift, do: undo, body: `{"reason":"wrong set"}`, status: 409, want: `{"detail":"~was undone on 2031-03-03 08:01Z by shift: wrong set"}`},
			{name: "the set waits again", as: port.Viewer, do: "GET /v1/sets/NEW", status: 200, want: `{"stage":"ready"}`},
			{name: "the other is in", as: port.Viewer, do: "GET /v1/stands/F1", status: 200, want: `{"positions":[{},{"roll":"WF1T","usage":{"tonnage_t":0}},{"roll":"WF1B"},{}]}`},
			{name: "the register", as: port.Viewer, do: "GET /v1/changes?stand=F1&limit=1", status: 200, want: `{"items":[{"undone":{"reason":"wrong set"}}]}`},
			{name: "the book keeps both", as: port.Viewer, do: "GET /v1/rolls/NEWT/entries", status: 200,
				want: `{"items":[{"kind":"received"},{"kind":"paired"},{"kind":"mounted","replaced_by":4},{"kind":"corrected","by":"shift","reason":"wrong set"}]}`},
		})
		if status, _ := s.importLines(piece("P1", s.now)); status != 200 {
			t.Fatalf("import: %d", status)
		}
		list := s.take(step{name: "the change before", as: port.Viewer, do: "GET /v1/changes?stand=F1", status: 200})
		var page oapi.ChangePage
		if err := json.Unmarshal(list.Body.Bytes(), &page); err != nil || len(page.Items) != 3 {
			t.Fatalf("%d changes, %v", len(page.Items), err)
		}
		first := page.Items[2].Name
		if page.Items[1].Role == "work" {
			first = page.Items[1].Name
		}
		s.run([]step{
			{name: "later than it was", later: time.Minute, as: port.Shift, do: "POST /v1/changes/" + first + "/corrections?dry_run=true", body: `{"at":"2031-03-03T08:02:30Z","reason":"by the clock of the stand"}`, status: 201,
				want: `{"at":"2031-03-03T08:02:30Z","moved":[{"from":"WF1T","piece_count":1,"tonnage_t":20},{"from":"WF1B"}]}`},
			{name: "its own moment", as: port.Shift, do: "POST /v1/changes/" + first + "/corrections", body: `{"at":"2031-03-03T06:00:00Z","reason":"by the clock of the stand"}`, status: 422, want: `{"errors":[{"pointer":"#/at"}]}`},
			{name: "a piece was rolled since", as: port.Shift, do: "POST /v1/changes/" + first + "/withdrawals", body: `{"reason":"wrong set"}`, status: 201, want: `{"moved":[{"from":"WF1T","piece_count":1,"tonnage_t":20},{"from":"WF1B"}]}`},
			{name: "it finds its rolls again", later: time.Minute, as: port.Shift, do: "POST /v1/changes", body: `{"stand":"F1","role":"work","set_in":"NEW","at":"2031-03-03T08:00:30Z"}`, status: 201,
				want: `{"moved":[{"roll":"NEWT","piece_count":1,"tonnage_t":20},{"roll":"NEWB"}],"in":[{"roll":"NEWT","usage":{"piece_count":1}},{}]}`},
		})
	})
}
