// Command make records the small works of testdata/old in a new database, by the
// program of the tree that it is in. To add one of an older schema, copy this folder
// into a tree of a commit that had it:
//
//	go run ./testdata/old/make NAME.db && gzip -9 NAME.db
//	go run ./testdata/old/make postgres://… && pg_dump --inserts --rows-per-insert=100 --no-owner --no-privileges … | gzip -9 > NAME.sql.gz
package main

import (
	"context"
	"errors"
	"fmt"
	"log"
	"net/http"
	"net/http/httptest"
	"os"
	"strings"
	"time"

	"barrelbook/api/embedded"
)

// asks are what is recorded, a minute apart.
var asks = []string{
	`POST /v1/mills {"name":"HSM","kind":"hot_strip","title":"Hot strip mill"}`,
	`POST /v1/stands {"name":"F1","mill":"HSM","order":1,"arrangement":"four_high","max_force_kn":40000}`,
	`POST /v1/grades {"name":"HCR","family":"high_chromium_iron","title":"High chromium"}`,
	`POST /v1/grades {"name":"FS","family":"forged_steel"}`,
	`POST /v1/practices {"name":"hsm","scope":{"mill":"HSM"},"values":{"pair_tolerance_um":250}}`,
	work("W1"), incoming("W1"), work("W2"), incoming("W2"), work("W3"), incoming("W3"), work("W4"), incoming("W4"),
	backup("B1"), backup("B2"), incomingBackup("B1"), incomingBackup("B2"),
	`POST /v1/rolls/W4/inspections {"tests":[{"test":"ultrasonic","outcome":"passed"}]}`,
	`POST /v1/rolls/W3/holds {"reason":"a mark at the drive end"}`,
	`POST /v1/rolls/W3/releases {"reason":"looked at and found shallow"}`,
	`POST /v1/sets {"name":"S1","top":"W1","bottom":"W2","at":"2026-02-10T06:00:00Z"}`,
	`POST /v1/sets {"name":"S2","top":"W3","bottom":"W4"}`,
	`POST /v1/sets {"name":"BS","top":"B1","bottom":"B2","at":"2026-02-10T06:00:00Z"}`,
	released("W1"), released("W2"), released("B1"), released("B2"),
	`POST /v1/chocks {"name":"K1","mill":"HSM","role":"work","bearing":"four-row","received_at":"2026-02-01T06:00:00Z"}`,
	`POST /v1/changes {"stand":"F1","role":"backup","set_in":"BS","at":"2026-02-11T06:00:00Z"}`,
	`POST /v1/changes {"stand":"F1","role":"work","set_in":"S1","at":"2026-02-11T06:10:00Z"}`,
	pieces(),
	`POST /v1/incidents {"what":"cobble","stand":"F1","at":"2026-02-11T07:30:00Z","note":"head end"}`,
	`POST /v1/changes {"stand":"F1","role":"work","why":"incident","at":"2026-02-11T08:00:00Z"}`,
	`POST /v1/sets/S1/breakings {"reason":"to be ground"}`,
	`POST /v1/rolls/W1/regrinds {"found_mm":739.4,"ground_mm":738.9,"purpose":"incident","tests":[{"test":"eddy_current","outcome":"passed"},{"test":"visual","outcome":"passed"}],"at":"2026-02-20T06:00:00Z"}`,
	`POST /v1/campaigns {"name":"next","mill":"HSM","starts_at":"2026-03-03T06:00:00Z","minutes_per_piece":3,"pieces":[` + piece("a", "") + `]}`,
	`POST /v1/campaigns/next/finish-checks {}`,
	`GET /v1/rolls/W1/forecast`,
	`POST /v1/tokens {"name":"reader","role":"viewer"}`,
}

func work(number string) string {
	return `POST /v1/rolls {"number":"` + number + `","role":"work","grade":"HCR","mill":"HSM","diameter_mm":740,"barrel_length_mm":2000,"scrap":{"nominal_mm":660},"received_at":"2026-02-01T06:00:00Z"}`
}

func backup(number string) string {
	return `POST /v1/rolls {"number":"` + number + `","role":"backup","grade":"FS","mill":"HSM","diameter_mm":1450,"barrel_length_mm":2000,"scrap":{"nominal_mm":1300},"ground":true,"received_at":"2026-02-01T06:00:00Z"}`
}

const tests = `"tests":[{"test":"visual","outcome":"passed"},{"test":"eddy_current","outcome":"passed"},{"test":"ultrasonic","outcome":"passed"}],"at":"2026-02-02T06:00:00Z"`

func incoming(number string) string {
	return `POST /v1/rolls/` + number + `/regrinds {"found_mm":740,"ground_mm":739.5,"purpose":"incoming",` + tests + `}`
}

func incomingBackup(number string) string {
	return `POST /v1/rolls/` + number + `/inspections {` + tests + `}`
}

func released(number string) string {
	return `POST /v1/rolls/` + number + `/concessions {"reason":"a small works of the tests","at":"2026-02-10T07:00:00Z"}`
}

func piece(id, more string) string {
	return `{"id":"` + id + `",` + more + `"mass_t":20,"width_mm":1200,"entry_thickness_mm":30,"passes":[{"stand":"F1","exit_thickness_mm":20,"force_kn":15000,"speed_m_per_s":2}]}`
}

func pieces() string {
	var lines []string
	for i := range 6 {
		lines = append(lines, piece(fmt.Sprint("P", i), fmt.Sprintf(`"source":"L2","mill":"HSM","rolled_at":"2026-02-11T07:0%d:00Z",`, i)))
	}
	return "POST /v1/pieces " + strings.Join(lines, "\n")
}

func main() {
	if len(os.Args) != 2 {
		log.Fatal("usage: make FILE|URL")
	}
	if err := run(os.Args[1]); err != nil {
		log.Fatal(err)
	}
}

func run(database string) error {
	now := time.Date(2026, 3, 2, 6, 0, 0, 0, time.UTC)
	s, err := embedded.Open(context.Background(), embedded.Options{Path: database, Now: func() time.Time { return now }})
	if err != nil {
		return err
	}
	for _, ask := range asks {
		now = now.Add(time.Minute)
		method, rest, _ := strings.Cut(ask, " ")
		path, body, _ := strings.Cut(rest, " ")
		r := httptest.NewRequest(method, path, strings.NewReader(body))
		r.Header.Set("Content-Type", "application/json")
		if path == "/v1/pieces" {
			r.Header.Set("Content-Type", "application/x-ndjson")
		}
		if strings.HasSuffix(path, "/breakings") {
			set := httptest.NewRecorder()
			s.Handler().ServeHTTP(set, httptest.NewRequest("GET", strings.TrimSuffix(path, "/breakings"), nil))
			r.Header.Set("If-Match", set.Header().Get("ETag"))
		}
		w := httptest.NewRecorder()
		if s.Handler().ServeHTTP(w, r); w.Code >= http.StatusBadRequest {
			err = errors.Join(err, fmt.Errorf("%s %s: %d %s", method, path, w.Code, w.Body))
		}
	}
	return errors.Join(err, s.Verify(context.Background()), s.Close())
}
