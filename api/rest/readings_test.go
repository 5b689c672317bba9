package rest_test

import (
	"testing"
	"time"

	"barrelbook/api/app/port"
)

// TestReadings: thresholds decide, what is read again is named, and the map has
// what was told, on both databases.
func TestReadings(t *testing.T) {
	both(t, func(t *testing.T, s *shop) {
		s.rolling()
		const inspect = "POST /v1/rolls/WF1T/inspections"
		test := func(outcome, readings string) string {
			if outcome != "" {
				outcome = `"outcome":"` + outcome + `",`
			}
			return `{"tests":[{"test":"eddy_current",` + outcome + `"instrument":"ET-2","calibration_piece":"C-7","calibrated_at":"2031-03-01T06:00:00Z","operator":"shift 2","readings":[` + readings + `]}]}`
		}
		const low, high = `{"at_mm":812,"around_deg":359,"value":0.6,"threshold":2,"indication":"bruise","file":"a.png"}`, `{"at_mm":815,"around_deg":1,"value":2.4,"threshold":2,"depth_um":300,"indication":"bruise"}`
		s.run([]step{
			{name: "take the set out", later: time.Hour, as: port.Shift, do: "POST /v1/changes", body: `{"stand":"F1","role":"work","empty":true,"why":"wear"}`, status: 201, want: `{"set_out":"WF1"}`},
			{name: "an empty map", as: port.Viewer, do: "GET /v1/rolls/WF1T/map", status: 200, want: `{"roll":"WF1T","along_mm":20,"around_deg":5,"places":[]}`},
			{name: "no such roll", as: port.Viewer, do: "GET /v1/rolls/NONE/map", status: 404, want: `{"type":"/problems/not-found"}`},
			{name: "below its threshold the readings pass it", later: time.Minute, as: port.Grinder, do: inspect, body: test("", low), status: 201, want: `{"state":{"tested":[{"test":"eddy_current","outcome":"passed"}]}}`},
			{name: "without a threshold nothing is decided", later: time.Minute, as: port.Grinder, do: inspect, body: test("", `{"at_mm":100,"value":0.1}`), status: 201, want: `{"state":{"tested":[{"outcome":"unknown"}],"fit":{"verdict":"not_fit"}}}`},
			{name: "passed above it contradicts itself", as: port.Grinder, do: inspect, body: test("passed", high), status: 422, want: `{"errors":[{"pointer":"~tests/0/outcome"}]}`},
			{name: "what an eddy current test does not show", as: port.Grinder, do: inspect, body: test("failed", `{"at_mm":100,"depth_um":45000,"indication":"bond"}`), status: 422, want: `{"errors":[{"pointer":"~tests/0/readings/0/indication"}]}`},
			{name: "beyond the barrel", as: port.Grinder, do: inspect, body: test("failed", `{"at_mm":9000,"value":1}`), status: 422, want: `{"errors":[{"pointer":"~tests/0/readings/0/at_mm"}]}`},
			{name: "unknown above it is failed, and named", later: time.Minute, as: port.Grinder, do: inspect, body: test("unknown", high), status: 201, want: `{"state":{"tested":[{"outcome":"failed"}],"defects":[{"depth_um":300}]}}`},
			{name: "the map", as: port.Viewer, do: "GET /v1/rolls/WF1T/map", status: 200,
				want: `{"places":[{"indication":"bruise","at_mm":812,"around_deg":359,"course":"grown","grew":true,"named":true,"says":"eddy current bruise at 812 mm, 359°: 0.6, now 2.4 (300 µm deep) of 2 allowed; it grew","looks":[{"value":0.6,"instrument":"ET-2","operator":"shift 2","file":"a.png"},{"value":2.4,"depth_um":300,"around_deg":1}]},{"indication":"crack","course":"new","named":false}]}`},
			{name: "a finer map", as: port.Viewer, do: "GET /v1/rolls/WF1T/map?along_mm=1", status: 200, want: `{"along_mm":1,"places":[{"course":"new"},{"at_mm":100},{"at_mm":815,"named":true}]}`},
			{name: "too coarse a map", as: port.Viewer, do: "GET /v1/rolls/WF1T/map?around_deg=181", status: 400, want: `{"errors":[{"pointer":"~around_deg"}]}`},
		})
	})
}
