package rest_test

import (
	"testing"
	"time"

	"barrelbook/api/app/port"
	"barrelbook/api/app/record"
	"barrelbook/api/rest"
	"barrelbook/domain/roll"
)

// TestReceiptCorrectedOverHTTP: a receipt typed wrong, on both databases.
func TestReceiptCorrectedOverHTTP(t *testing.T) {
	both(t, func(t *testing.T, s *shop) {
		s.rolling()
		const do = "POST /v1/rolls/R9/corrections"
		s.run([]step{
			{name: "received", as: port.Grinder, do: "POST /v1/rolls", status: 201,
				body: `{"number":"R9","role":"work","grade":"HSS","mill":"hot","diameter_mm":682.5,"barrel_length_mm":1780,"neck_fillet_radius_mm":60,"scrap":{"nominal_mm":640},"received_at":"` + s.now.Format(time.RFC3339) + `"}`},
			{name: "the radius of its fillet", as: port.Viewer, do: "GET /v1/rolls/R9", status: 200, want: `{"neck_fillet_radius_mm":60}`},
			{name: "a diameter for a radius", as: port.Engineer, do: do, body: `{"entry":1,"reason":"misread","receipt":{"neck_fillet_radius_mm":450}}`, status: 422, want: `{"errors":[{"pointer":"#/receipt/neck_fillet_radius_mm"}]}`},
			{name: "by a grinder", as: port.Grinder, do: do, body: `{"entry":1,"reason":"misread","receipt":{"scrap":{"nominal_mm":500}}}`, status: 403, want: `{"type":"/problems/forbidden"}`},
			{name: "nothing", as: port.Engineer, do: do, body: `{"entry":1,"reason":"misread","receipt":{}}`, status: 400},
			{name: "both", as: port.Engineer, do: do, body: `{"entry":1,"reason":"misread","receipt":{"price":1},"regrind":{"found_mm":700,"ground_mm":699,"purpose":"wear"}}`, status: 422, want: `{"errors":[{"pointer":"#/receipt"}]}`},
			{name: "of another shape", as: port.Engineer, do: do, body: `{"entry":1,"reason":"misread","receipt":{"number":"R8"}}`, status: 400},
			{name: "no grade", as: port.Engineer, do: do, body: `{"entry":1,"reason":"misread","receipt":{"grade":"xx"}}`, status: 422, want: `{"errors":[{"pointer":"#/receipt/grade"}]}`},
			{name: "to be", as: port.Engineer, do: do, body: `{"entry":1,"reason":"misread","receipt":{"received_at":"2999-01-01T00:00:00Z"}}`, status: 422, want: `{"errors":[{"pointer":"#/receipt/received_at"}]}`},
			{name: "too small", as: port.Engineer, do: do, body: `{"entry":1,"reason":"misread","receipt":{"diameter_mm":639}}`, status: 422, want: `{"errors":[{"pointer":"#/receipt/diameter_mm"}]}`},
			{name: "withdrawn", as: port.Engineer, do: do, body: `{"entry":1,"reason":"misread"}`, status: 409, want: `{"next":[{"operation":"correctEntry","href":"/v1/rolls/R9/corrections"}]}`},
			{name: "corrected", as: port.Engineer, do: do, body: `{"entry":1,"reason":"digits changed over","receipt":{"diameter_mm":702.5,"neck_fillet_radius_mm":45.5,"scrap":{"nominal_mm":641,"shell_depth_mm":650},"stands":["F1"]}}`, status: 201,
				want: `{"roll":{"new_diameter_mm":702.5,"neck_fillet_radius_mm":45.5,"stands":["F1"],"grade":"HSS","state":{"diameter_mm":702.5,"scrap_mm":650}},"corrects":1,"kind":"received","withdrawn":false,
					"changed":[{"field":"diameter_mm","was":"682.5","is":"702.5"},{"field":"neck_fillet_radius_mm","was":"60","is":"45.5"},{"field":"new_diameter_mm"},{"field":"scrap/nominal_mm","was":"640","is":"641"},{"field":"scrap/shell_depth_mm","is":"650"},{"field":"stands","is":"F1"}],"before":[{"roll":"R9","stock_left_mm":42.5}],"after":[{"roll":"R9","stock_left_mm":52.5,"scrap_limit":"shell depth"}]}`},
			{name: "corrected again", as: port.Engineer, do: do, body: `{"entry":2,"reason":"digits changed over","receipt":{"diameter_mm":702.5}}`, status: 409, want: `{"detail":"~says so already"}`},
			{name: "given and cleared", as: port.Engineer, do: do, body: `{"entry":2,"reason":"not stamped","receipt":{"note":"x","clear":["note"]}}`, status: 422, want: `{"errors":[{"pointer":"#/receipt/note"}]}`},
			{name: "cleared", as: port.Engineer, do: do + "?dry_run=true", body: `{"entry":2,"reason":"not stamped","receipt":{"clear":["neck_fillet_radius_mm","stands"]}}`, status: 201,
				want: `{"dry_run":true,"changed":[{"field":"neck_fillet_radius_mm","was":"45.5"},{"field":"stands","was":"F1"}]}`},
			{name: "of an older version", as: port.Engineer, do: do, headers: map[string]string{"If-Match": `"1"`}, body: `{"entry":2,"reason":"not stamped","receipt":{"clear":["stands"]}}`, status: 412},
			{name: "the book", as: port.Viewer, do: "GET /v1/rolls/R9/entries", status: 200, want: `{"items":[{"number":1,"replaced_by":2},{"number":2,"kind":"corrected","body":{"kind":"received"}}]}`},
			{name: "no roll", as: port.Viewer, do: "GET /v1/rolls/R10/entries", status: 404},
		})
	})
}

// TestCorrectingAsksForNoLessThanRecording holds who may correct an entry
// against who may write one by the contract.
func TestCorrectingAsksForNoLessThanRecording(t *testing.T) {
	c, err := rest.ContractRoles()
	if err != nil {
		t.Fatal(err)
	}
	for kind, operation := range map[roll.Kind]string{
		roll.KindReceived: "receiveRoll", roll.KindInspected: "recordInspection", roll.KindReground: "recordRegrind", roll.KindIncident: "recordIncident", roll.KindHeld: "holdRoll",
		roll.KindReleased: "releaseRoll", roll.KindConceded: "concedeRoll", roll.KindRegraded: "regradeRoll", roll.KindScrapped: "scrapRoll",
	} {
		asked, ok := c[operation]
		if got := record.CorrectionRole(kind); !ok || !got.May(asked) {
			t.Errorf("%s asks for %s (known: %v), and correcting a %q for %s", operation, asked, ok, kind, got)
		}
	}
	if record.CorrectionRole("of a later version") != port.Engineer {
		t.Error("a kind that nobody thought of is not kept to engineers")
	}
}
