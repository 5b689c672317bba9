package rest_test

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"barrelbook/api/app/port"
)

// bars is a bar mill with a two-high stand of a drive block and grooved rolls.
func (s *shop) bars() {
	s.t.Helper()
	s.works()
	s.run([]step{
		{name: "bar mill", as: port.Engineer, do: "POST /v1/mills", body: `{"name":"bar","kind":"bar"}`, status: 201},
		{name: "bar stand", as: port.Engineer, do: "POST /v1/stands", body: `{"name":"BF1","mill":"bar","order":1,"arrangement":"two_high","orientation":"vertical","drive_block":"finishing"}`, status: 201,
			want: `{"drive_block":"finishing","orientation":"vertical"}`},
		{name: "limits", as: port.Engineer, do: "POST /v1/practices", body: `{"name":"grooves","scope":{"mill":"bar"},"values":{"max_groove_t":100,"groove_wear_um_per_kt":1500,"redress_margin_um":500}}`, status: 201},
	})
	for _, n := range []string{"FT", "FB"} {
		s.take(step{name: "receive " + n, as: port.Grinder, do: "POST /v1/rolls", body: grooved(n, s.now, `[{"number":1,"depth_mm":8,"title":"round 16"},{"number":2,"depth_mm":8}]`), status: 201,
			want: `{"grooves":[{"number":1,"depth_mm":8,"title":"round 16"},{"number":2,"depth_mm":8}]}`})
	}
	s.take(step{name: "pair", as: port.Grinder, do: "POST /v1/sets", body: `{"name":"F","top":"FT","bottom":"FB"}`, status: 201})
	s.mount("BF1", "work", "F")
	s.now = s.now.Add(time.Hour)
}

func grooved(number string, at time.Time, grooves string) string {
	return fmt.Sprintf(`{"number":%q,"role":"work","grade":"HSS","mill":"bar","diameter_mm":340,"barrel_length_mm":650,"scrap":{"nominal_mm":295},"ground":true,"received_at":%q,"grooves":%s}`,
		number, at.Format(time.RFC3339), grooves)
}

func bar(id string, at time.Time, groove string) string {
	return fmt.Sprintf(`{"source":"mes","id":%q,"mill":"bar","rolled_at":%q,"mass_t":2,"width_mm":20,"entry_thickness_mm":20,"passes":[{"stand":"BF1","exit_thickness_mm":15,"force_kn":80%s}]}`, id, at.Format(time.RFC3339), groove)
}

func TestGroovesOverHTTP(t *testing.T) {
	both(t, func(t *testing.T, s *shop) {
		s.bars()
		_, answers := s.importLines(bar("a", s.now, `,"groove":1`) + "\n" + bar("b", s.now, `,"groove":3`) + "\n" + bar("c", s.now, "") + "\n")
		if len(answers) != 4 || !strings.Contains(answers[0], `"stored"`) || !strings.Contains(answers[1], "/passes/0/groove") || !strings.Contains(answers[2], "belongs to another mill") {
			t.Errorf("answers %q; want the first stored, a groove that is not there, and strip", answers)
		}
		s.run([]step{
			{name: "grooves of the roll", as: port.Viewer, do: "GET /v1/rolls/FT", status: 200,
				want: `{"state":{"grooves":[{"number":1,"tonnage_t":2,"worn_um":3,"limit_t":100,"spare":false},{"number":2,"tonnage_t":0,"spare":true}]}}`},
			{name: "take out", later: time.Second, as: port.Shift, do: "POST /v1/changes", body: `{"stand":"BF1","role":"work","empty":true}`, status: 201},
			{name: "too shallow", as: port.Grinder, do: "POST /v1/rolls/FT/regrinds", body: `{"found_mm":340,"ground_mm":339.998,"purpose":"redress"}`, status: 422},
			{name: "not a redress", as: port.Grinder, do: "POST /v1/rolls/FT/regrinds", body: `{"found_mm":340,"ground_mm":339.5,"purpose":"wear"}`, status: 422},
			{name: "shallower than measured", as: port.Grinder, do: "POST /v1/rolls/FT/regrinds", body: `{"found_mm":340,"ground_mm":339.5,"purpose":"redress","groove_worn_um":501}`, status: 422},
			{name: "redress", as: port.Grinder, do: "POST /v1/rolls/FT/regrinds", body: `{"found_mm":340,"ground_mm":339.5,"purpose":"redress","groove_worn_um":500}`, status: 201, want: `{"stock_mm":0.5,"purpose":"redress"}`},
			{name: "fresh", as: port.Viewer, do: "GET /v1/rolls/FT", status: 200, want: `{"state":{"grooves":[{"number":1,"tonnage_t":0,"spare":true},{"number":2,"spare":true}]}}`},
			{name: "the book", as: port.Viewer, do: "GET /v1/rolls/FT/entries", status: 200},
			{name: "grooves with a gap", as: port.Grinder, do: "POST /v1/rolls", body: grooved("X", s.now, `[{"number":2,"depth_mm":8}]`), status: 422},
			{name: "strip programme", as: port.Shift, do: "POST /v1/campaigns", body: `{"mill":"bar","pieces":[{"id":"s","mass_t":20,"width_mm":500,"entry_thickness_mm":20,"passes":[{"stand":"BF1","exit_thickness_mm":15}]}]}`, status: 422},
		})
	})
}

func TestChocksOverHTTP(t *testing.T) {
	both(t, func(t *testing.T, s *shop) {
		s.works()
		s.set("W", "work", 700)
		s.run([]step{
			{name: "add", as: port.Grinder, do: "POST /v1/chocks", body: `{"name":"K1","mill":"hot","role":"work","bearing":"four-row taper","inspect_every_h":2}`, status: 201,
				want: `{"condition":"unknown","bearing_hours_h":0,"entry_count":1}`, header: map[string]string{"Location": "/v1/chocks/K1"}},
			{name: "add again", as: port.Grinder, do: "POST /v1/chocks", body: `{"name":"K1","mill":"hot","role":"work","bearing":"x"}`, status: 409},
			{name: "of no mill", as: port.Grinder, do: "POST /v1/chocks", body: `{"name":"K2","mill":"none","role":"work","bearing":"x"}`, status: 422},
			{name: "no place", as: port.Grinder, do: "POST /v1/chocks/K1/fittings", body: `{"set":"W"}`, status: 422},
			{name: "fit", as: port.Grinder, do: "POST /v1/chocks/K1/fittings", body: `{"set":"W","place":"bottom_drive"}`, status: 201, want: `{"set":"W","place":"bottom_drive"}`},
			{name: "viewers may not", as: port.Viewer, do: "POST /v1/chocks/K1/fittings", body: `{}`, status: 403},
			{name: "never inspected", as: port.Viewer, do: "GET /v1/sets/W", status: 200, want: `{"stage":"not_ready","fit":{"verdict":"not_released","may_go_in":false,"missing":["WB: chock K1"]}}`},
			{name: "not to be mounted", as: port.Shift, do: "POST /v1/changes", body: `{"stand":"F1","role":"work","set_in":"W"}`, status: 409, want: `{"detail":"~never been inspected"}`},
			{name: "inspect before", as: port.Grinder, do: "POST /v1/chocks/K1/inspections", body: `{"outcome":"passed"}`, status: 201, want: `{"inspection_due":false}`},
		})
		s.mount("F1", "work", "W")
		s.now = s.now.Add(3 * time.Hour)
		s.run([]step{
			{name: "in a stand", as: port.Grinder, do: "POST /v1/chocks/K1/fittings", body: `{}`, status: 409},
			{name: "due", as: port.Viewer, do: "GET /v1/chocks/K1", status: 200, want: `{"stand":"F1","bearing_hours_h":3,"inspection_due":true}`},
			{name: "list", as: port.Viewer, do: "GET /v1/chocks?set=W", status: 200, want: `{"items":[{"name":"K1"}]}`},
			{name: "inspect", as: port.Grinder, do: "POST /v1/chocks/K1/inspections", body: `{"outcome":"passed"}`, status: 201, want: `{"condition":"passed","inspection_due":false}`},
			{name: "book", as: port.Viewer, do: "GET /v1/chocks/K1/entries", status: 200, want: `{"items":[{"kind":"received"},{"kind":"fitted"},{"kind":"inspected"},{"kind":"inspected"}]}`},
			{name: "not there", as: port.Viewer, do: "GET /v1/chocks/K9", status: 404},
		})
	})
}
