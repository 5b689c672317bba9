package rest_test

import (
	"fmt"
	"net/http"
	"slices"
	"strings"
	"testing"
	"time"

	"barrelbook/api/app/port"
	"barrelbook/api/app/record"
	"barrelbook/api/oapi"
	"barrelbook/domain/roll"
)

// corrections say how an entry of each kind comes about over the wire, and what
// else than withdrawing is done to it. A kind of the contract that is missing here
// fails the test.
var corrections = map[oapi.EntryKind]struct {
	make    []step
	entry   int64 // in the book of R9; 0 for the one after make
	correct string
	bound   bool // to another book: refused with 409 to those who may
}{
	oapi.EntryKindReceived:  {entry: 1, correct: `"receipt":{"note":"seen"}`, bound: true},
	oapi.EntryKindInspected: {make: []step{{do: "POST /v1/rolls/R9/inspections", body: `{"tests":[{"test":"visual","outcome":"passed"}]}`}}},
	oapi.EntryKindReground:  {make: []step{{do: "POST /v1/rolls/R9/regrinds", body: `{"found_mm":699.9,"ground_mm":699.85,"purpose":"incoming","confirmed":["nothing_rolled"]}`}}, correct: `"regrind":{"note":"wheel 5"}`},
	oapi.EntryKindIncident:  {make: []step{{do: "POST /v1/incidents", body: `{"what":"bruise","roll":"R9"}`}}},
	oapi.EntryKindHeld:      {make: []step{{do: "POST /v1/rolls/R9/holds", body: `{"reason":"soft spot"}`}}},
	oapi.EntryKindReleased:  {make: []step{{do: "POST /v1/rolls/R9/holds", body: `{"reason":"soft spot"}`}, {do: "POST /v1/rolls/R9/releases", body: `{"reason":"looked at"}`}}},
	oapi.EntryKindConceded:  {entry: 2, make: []step{{do: "POST /v1/practices", body: `{"name":"looked-at","scope":{"role":"work"},"values":{"visual_at_receipt":1}}`}, {do: "POST /v1/rolls/R9/concessions", body: `{"reason":"one campaign only"}`}}},
	oapi.EntryKindRegraded:  {make: []step{{do: "POST /v1/rolls/R9/regradings", body: `{"stands":["F1"],"reason":"kept for F1"}`}}},
	oapi.EntryKindScrapped:  {make: []step{{do: "POST /v1/rolls/R9/scrappings", body: `{"why":"spall","reason":"saddle spall"}`}}},
	// Of more than one book: nobody corrects them one at a time.
	oapi.EntryKindPaired:    {make: []step{{do: "POST /v1/sets", body: `{"name":"S9","top":"R9","bottom":"R8"}`}}, bound: true},
	oapi.EntryKindUnpaired:  {make: []step{{do: "POST /v1/sets", body: `{"name":"S9","top":"R9","bottom":"R8"}`}, {do: "POST /v1/sets/S9/breakings", body: `{"reason":"apart again"}`}}, bound: true},
	oapi.EntryKindMounted:   {bound: true},
	oapi.EntryKindPastStay:  {make: []step{{do: "POST /v1/past-stays", body: `{"stays":[{"roll":"R9","stand":"F1","position":"top_work","mounted_at":"2030-02-01T00:00:00Z","withdrawn_at":"2030-02-08T00:00:00Z","tonnage_t":900}]}`}}},
	oapi.EntryKindWithdrawn: {bound: true},
	oapi.EntryKindCorrected: {make: []step{{do: "POST /v1/rolls/R9/holds", body: `{"reason":"soft spot"}`}, {do: "POST /v1/rolls/R9/corrections", body: `{"entry":2,"reason":"another roll"}`}}, bound: true},
}

// TestWhoMayCorrectByTheContract tries each role of the contract on each kind of
// entry by each verb, as the contract names them: who may not undo what an entry
// did gets 403, and the book stays as it is.
func TestWhoMayCorrectByTheContract(t *testing.T) {
	roles := []port.Role{port.Viewer, port.Grinder, port.Shift, port.Engineer, port.Admin}
	for _, kind := range entryKinds(t) {
		how, known := corrections[kind]
		if !known {
			t.Errorf("nothing says who may correct an entry of kind %q: add it to corrections", kind)
			continue
		}
		if kind == oapi.EntryKindMounted || kind == oapi.EntryKindWithdrawn {
			continue // their change is undone: TestUndoChangeOverHTTP
		}
		t.Run(string(kind), func(t *testing.T) {
			s := openFile(t)
			s.rolling()
			for _, number := range []string{"R9", "R8"} {
				s.take(step{name: "received", as: port.Grinder, do: "POST /v1/rolls", status: http.StatusCreated,
					body: `{"number":"` + number + `","role":"work","grade":"HSS","mill":"hot","diameter_mm":700,"barrel_length_mm":1780,"ground":true,"scrap":{"nominal_mm":640},"received_at":"2030-01-01T00:00:00Z"}`})
			}
			entry := how.entry
			for i, one := range how.make {
				one.name, one.as, one.status, one.later = fmt.Sprint("made ", i), port.Engineer, http.StatusCreated, time.Hour
				if strings.Contains(one.do, "/breakings") {
					one.headers = map[string]string{"If-Match": `"1"`}
				}
				s.take(one)
			}
			if entry == 0 {
				entry = int64(1 + len(how.make))
			}
			for verb, more := range map[string]string{"withdraw": "", "correct": how.correct} {
				if verb == "correct" && more == "" {
					continue
				}
				for _, role := range roles {
					may := role.May(port.Grinder) && role.May(record.CorrectionRole(roll.Kind(kind)))
					body := fmt.Sprintf(`{"entry":%d,"reason":"typed wrong"`, entry)
					if more != "" {
						body += "," + more
					}
					status := http.StatusForbidden
					switch {
					case may && how.bound && verb == "withdraw":
						status = http.StatusConflict
					case may:
						status = http.StatusCreated
					case how.bound && verb == "withdraw" && role.May(port.Grinder):
						status = http.StatusConflict // nobody does that, whoever asks
					}
					s.take(step{name: fmt.Sprintf("%s a %s as %s", verb, kind, role), as: role, do: "POST /v1/rolls/R9/corrections?dry_run=true", body: body + "}", status: status})
				}
			}
			if status := http.StatusForbidden; kind == oapi.EntryKindIncident {
				for _, role := range roles {
					if role.May(port.Engineer) {
						status = http.StatusNotFound
					}
					s.take(step{name: "undo an incident as " + string(role), as: role, do: "POST /v1/incidents/none/withdrawals", body: `{"reason":"typed wrong"}`, status: status})
				}
			}
		})
	}
}

// entryKinds are the kinds that the contract names, but for what only a part of a
// card is.
func entryKinds(t *testing.T) []oapi.EntryKind {
	t.Helper()
	doc, err := oapi.GetSpec()
	if err != nil {
		t.Fatal(err)
	}
	var kinds []oapi.EntryKind
	for _, v := range doc.Components.Schemas["EntryKind"].Value.Enum {
		kinds = append(kinds, oapi.EntryKind(fmt.Sprint(v)))
	}
	slices.Sort(kinds)
	return kinds
}
