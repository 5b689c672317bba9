package rest_test

import (
	"encoding/json"
	"fmt"
	"strings"
	"testing"
	"time"

	"barrelbook/api/app/port"
)

// TestForecastsAndReports wears a set in twelve campaigns and asks what there is to
// ask about it, on both databases.
func TestForecastsAndReports(t *testing.T) {
	both(t, func(t *testing.T, s *shop) {
		s.rolling()
		s.run([]step{
			{name: "no rates before a regrind", as: port.Viewer, do: "GET /v1/wear-rates", status: 200, want: `{"version":0,"items":[]}`},
			{name: "a forecast from defaults says so", as: port.Viewer, do: "GET /v1/rolls/WF1T/forecast", status: 200,
				want: `{"roll":"WF1T","mounted":true,"wear_rate":{"source":"default"},"habit":"~defaults","remaining":{"regrinds":{}},"delivery_days":240}`},
			{name: "nothing was consumed", as: port.Viewer, do: "GET /v1/reports/consumption", status: 200, want: `{"by":"grade","rows":[],"totals":[]}`},
			{name: "no scores", as: port.Viewer, do: "GET /v1/reports/scores", status: 200, want: `{"nominal_coverage":0.9,"finish":{"count":0}}`},
		})
		diameter := 700.0
		for i := range 12 {
			out := step{as: port.Shift, do: "POST /v1/changes", status: 201, later: 48 * time.Hour,
				body: `{"stand":"F1","role":"work","empty":true,"stated_tonnage_t":2000,"stated_rolled_km":60,"stated_specific_force_kn_per_mm":10}`}
			out.name = fmt.Sprint("out ", i)
			steps := []step{out}
			for _, roll := range []string{"WF1T", "WF1B"} {
				steps = append(steps, step{name: "grind " + roll, as: port.Grinder, do: "POST /v1/rolls/" + roll + "/regrinds", status: 201,
					body: fmt.Sprintf(`{"found_mm":%.3f,"ground_mm":%.3f,"purpose":"wear"}`, diameter-0.18, diameter-0.4)})
			}
			steps = append(steps, step{name: fmt.Sprint("in ", i), as: port.Shift, later: 24 * time.Hour, do: "POST /v1/changes", status: 201, body: `{"stand":"F1","role":"work","set_in":"WF1"}`})
			diameter -= 0.4
			s.run(steps)
		}
		for range 2 { // once a roll and day, however often
			if _, err := s.service.App().KeepForecasts(t.Context()); err != nil {
				t.Fatal(err)
			}
		}
		s.run([]step{
			{name: "3 um per km were found", as: port.Viewer, do: "GET /v1/wear-rates?rolls=true&stand=F1", status: 200,
				want: `{"version":1,"campaign_count":24,"items":[{"mill":"hot","role":"work","stand":"F1","roll_count":2,"campaign_count":24,"rolls":[{"campaign_count":12},{"campaign_count":12}]}]}`},
			{name: "none of another stand", as: port.Viewer, do: "GET /v1/wear-rates?stand=F2", status: 200, want: `{"items":[]}`},
			{name: "forecast", as: port.Viewer, do: "GET /v1/rolls/WF1T/forecast", status: 200,
				want: `{"stand":"F1","wear_rate":{"rates_version":1,"source":"~12 of them this roll's"},"habit":"~in F1","next_change":{"limited_by":"habit","tonnage_t":{"p50":2000}},"remaining":{"scrap_at":{}},"month_ago":{"at":"~2031-03-"}}`},
			{name: "consumption by stand", as: port.Viewer, do: "GET /v1/reports/consumption?by=stand", status: 200,
				want: `{"by":"stand","rows":[{"key":"F1","role":"work","regrind_count":24,"removed_um":9600,"tonnage_t":24000,"um_per_kt":400,"incident_share":0}],"totals":[{"key":"total","removed_um":9600}]}`},
			{name: "consumption before anything", as: port.Viewer, do: "GET /v1/reports/consumption?by=month&until=2031-03-03T06:00:00Z", status: 200, want: `{"rows":[]}`},
			{name: "a period that ends before it begins", as: port.Viewer, do: "GET /v1/reports/consumption?from=2031-03-04T00:00:00Z&until=2031-03-03T00:00:00Z", status: 422, want: `{"errors":[{"pointer":"~until"}]}`},
			{name: "an unknown way", as: port.Viewer, do: "GET /v1/reports/consumption?by=colour", status: 400},
			{name: "stock", as: port.Viewer, do: "GET /v1/reports/stock?mill=hot", status: 200, want: `{"groups":[{"role":"backup","roll_count":4,"mounted_count":4},{"role":"work","roll_count":4}]}`},
			{name: "stock of no mill", as: port.Viewer, do: "GET /v1/reports/stock?mill=cold", status: 404},
			{name: "buying", as: port.Viewer, do: "GET /v1/reports/buying?months=120", status: 200, want: `{"pace":1,"rates_version":1}`},
			{name: "scores", as: port.Viewer, do: "GET /v1/reports/scores", status: 200, want: `{"open_count":8}`},
			{name: "populations of which none failed", as: port.Viewer, do: "GET /v1/reports/populations", status: 200,
				want: `{"by":"grade","age":"tonnes","groups":[{"role":"backup","living_count":4},{"role":"work","roll_count":4,"life_count":2,"age_total":48000,"failed_count":0,"steps":[]}]}`},
			{name: "populations by colour", as: port.Viewer, do: "GET /v1/reports/populations?by=colour", status: 400},
			{name: "populations of no mill", as: port.Viewer, do: "GET /v1/reports/populations?mill=cold", status: 404},
			{name: "out for good", as: port.Shift, do: "POST /v1/changes", status: 201, later: time.Hour, body: `{"stand":"F1","role":"work","empty":true}`},
			{name: "one that has borne more", as: port.Shift, do: "POST /v1/changes", status: 201, body: `{"stand":"F2","role":"work","empty":true,"stated_tonnage_t":30000,"stated_rolled_km":900,"stated_specific_force_kn_per_mm":10}`},
			{name: "an unknown roll", as: port.Viewer, do: "GET /v1/rolls/NONE/forecast", status: 404},
			{name: "not without a token", do: "GET /v1/reports/stock", status: 401},
		})
		s.run([]step{
			{name: "taken apart", as: port.Grinder, do: "POST /v1/sets/WF1/breakings", body: `{"reason":"spalled"}`, status: 201,
				headers: map[string]string{"If-Match": s.send(s.request(port.Viewer, "GET", "/v1/sets/WF1", "")).Header().Get("ETag")}},
			{name: "spalled", as: port.Engineer, do: "POST /v1/rolls/WF1T/scrappings", body: `{"why":"spall","reason":"spall at the edge"}`, status: 201},
			{name: "populations", as: port.Viewer, do: "GET /v1/reports/populations?by=supplier&age=km&mill=hot", status: 200,
				want: `{"by":"supplier","age":"km","groups":[{"role":"backup"},{"key":"","role":"work","roll_count":4,"spall_count":1,"crack_count":0,"living_count":3,"life_count":4,"failed_count":1,"weibull":{},"steps":[{"age":720,"at_risk_count":4,"failed_count":1,"survival":0.75}]}]}`},
		})
		w := s.send(s.request(port.Viewer, "GET", "/v1/wear-rates?limit=1", ""))
		var rates struct {
			Items []struct {
				Rate float64 `json:"rate_um_per_km"`
			} `json:"items"`
			Next string `json:"next"`
		}
		if err := json.Unmarshal(w.Body.Bytes(), &rates); err != nil || len(rates.Items) != 1 || rates.Next != "" || rates.Items[0].Rate < 2.7 || rates.Items[0].Rate > 3.3 {
			t.Errorf("180 um in 60 km: %v, %s", err, w.Body)
		}
		if w := s.send(s.request(port.Viewer, "GET", "/v1/wear-rates?cursor=bm9wZQ", "")); w.Code != 400 || !strings.Contains(w.Body.String(), "cursor") {
			t.Errorf("a cursor of another list: %d %s", w.Code, w.Body)
		}
	})
}
