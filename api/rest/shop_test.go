package rest_test

import (
	"encoding/json"
	"fmt"
	"strings"
	"testing"
	"time"

	"barrelbook/api/app/port"
	"barrelbook/api/rest"
	"barrelbook/api/store/pgtest"
	"barrelbook/domain/practice"
)

// both runs a test on a data file and on PostgreSQL.
func both(t *testing.T, test func(t *testing.T, s *shop)) {
	t.Run("file", func(t *testing.T) { test(t, openFile(t)) })
	t.Run("postgresql", func(t *testing.T) { test(t, open(t, pgtest.DSN(t), rest.Options{})) })
}

// A small invented works: a hot mill of two four-high stands.

func (s *shop) works() {
	s.t.Helper()
	s.run([]step{
		{name: "mill", as: port.Engineer, do: "POST /v1/mills", body: `{"name":"hot","kind":"hot_strip","title":"Hot strip mill"}`, status: 201, want: `{"name":"hot"}`},
		{name: "nothing asked", as: port.Engineer, do: "POST /v1/practices", body: asksNothing(), status: 201},
		{name: "grade", as: port.Engineer, do: "POST /v1/grades", body: `{"name":"HSS","family":"high_speed_steel"}`, status: 201},
		{name: "stand F1", as: port.Engineer, do: "POST /v1/stands", body: `{"name":"F1","mill":"hot","order":1,"arrangement":"four_high","max_force_kn":40000}`, status: 201, header: map[string]string{"ETag": `"1"`}},
		{name: "stand F2", as: port.Engineer, do: "POST /v1/stands", body: `{"name":"F2","mill":"hot","order":2,"arrangement":"four_high"}`, status: 201},
	})
}

func receipt(number, role string, mm float64, at time.Time, ground bool) string {
	scrap, neck := 640.0, 400.0
	if role == "backup" {
		scrap, neck = 1350, 800
	}
	return fmt.Sprintf(`{"number":%q,"role":%q,"grade":"HSS","mill":"hot","diameter_mm":%g,"barrel_length_mm":1780,"bearing_span_mm":2900,"neck_diameter_mm":%g,"scrap":{"nominal_mm":%g},"ground":%v,"received_at":%q}`,
		number, role, mm, neck, scrap, ground, at.Format(time.RFC3339))
}

// set receives two rolls and pairs them.
func (s *shop) set(name, role string, mm float64) {
	s.t.Helper()
	for _, end := range []string{"T", "B"} {
		s.take(step{name: "receive " + name + end, as: port.Grinder, do: "POST /v1/rolls", body: receipt(name+end, role, mm, s.now, true), status: 201})
	}
	s.take(step{name: "pair " + name, as: port.Grinder, do: "POST /v1/sets", body: fmt.Sprintf(`{"name":%q,"top":%q,"bottom":%q}`, name, name+"T", name+"B"), status: 201,
		want: `{"in_tolerance":true,"stage":"ready"}`, header: map[string]string{"Location": "/v1/sets/" + name}})
}

func (s *shop) mount(stand, role, set string) {
	s.t.Helper()
	s.take(step{name: "mount " + set, as: port.Shift, do: "POST /v1/changes", body: fmt.Sprintf(`{"stand":%q,"role":%q,"set_in":%q}`, stand, role, set), status: 201, want: fmt.Sprintf(`{"set_in":%q}`, set)})
}

// piece is one line of an import.
func piece(id string, at time.Time) string {
	return fmt.Sprintf(`{"source":"mes","id":%q,"mill":"hot","rolled_at":%q,"mass_t":20,"width_mm":1250,"entry_thickness_mm":30,"passes":[{"stand":"F1","exit_thickness_mm":16,"force_kn":18000,"speed_m_per_s":3},{"stand":"F2","exit_thickness_mm":9,"force_kn":15000,"speed_m_per_s":5}]}`,
		id, at.Format(time.RFC3339))
}

func (s *shop) importLines(lines string) (status int, answers []string) {
	s.t.Helper()
	r := s.request(port.Shift, "POST", "/v1/pieces", lines)
	r.Header.Set("Content-Type", "application/x-ndjson")
	w := s.send(r)
	return w.Code, strings.Split(strings.TrimSuffix(w.Body.String(), "\n"), "\n")
}

// rolling makes the works with a set in every place and an hour gone by.
func (s *shop) rolling() {
	s.t.Helper()
	s.works()
	for _, stand := range []string{"F1", "F2"} {
		s.set("W"+stand, "work", 700)
		s.set("B"+stand, "backup", 1500)
		s.mount(stand, "work", "W"+stand)
		s.mount(stand, "backup", "B"+stand)
	}
	s.now = s.now.Add(time.Hour)
}

// asksNothing has every mill ask no test and no measure, so that what a scenario
// is about is not held up by a release; that has scenarios of its own.
func asksNothing() string {
	values := map[string]int{}
	for _, k := range practice.Asks() {
		values[string(k)] = 0
	}
	body, err := json.Marshal(map[string]any{"name": "asks-nothing", "scope": map[string]any{}, "values": values})
	if err != nil {
		panic(err)
	}
	return string(body)
}
