package rest_test

import (
	"testing"
	"time"

	"barrelbook/api/app/port"
)

// TestStandLoadOverHTTP: the load and the wear along the barrels, held against
// the contract; a piece may have any name that the mill's computer gives it.
func TestStandLoadOverHTTP(t *testing.T) {
	both(t, func(t *testing.T, s *shop) {
		s.rolling()
		s.run([]step{{name: "nothing rolled", as: port.Viewer, do: "GET /v1/stands/F1", status: 200, without: []string{`"load"`, "wear_profile"}}})
		if _, answers := s.importLines(piece("d] <M  7", s.now.Add(-time.Minute)) + "\n"); len(answers) != 2 {
			t.Fatalf("answers %q", answers)
		}
		s.run([]step{{name: "rolled", as: port.Viewer, do: "GET /v1/stands/F1", status: 200,
			want: `{"load":{"piece":"d] <M  7","width_mm":1250,"force_kn":18000,"force_predicted":false,"pairs":[{"work":"WF1T","backup":"BF1T"},{"work":"WF1B","backup":"BF1B"}]},"positions":[{},{"usage":{"piece_count":1,"wear_profile":{}}},{},{}]}`}})
	})
}
