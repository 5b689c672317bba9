package rest_test

import (
	"bytes"
	"encoding/csv"
	"fmt"
	"io"
	"net/http/httptest"
	"strings"
	"testing"
	"time"

	"github.com/klauspost/compress/gzip"
	"github.com/klauspost/compress/zstd"

	"barrelbook/api/app/port"
	"barrelbook/api/rest"
	"barrelbook/api/store/filetest"
)

// ask sends a request with headers, in pairs, and gives the answer as it went out.
func (s *shop) asked(role port.Role, do, body string, headers ...string) *httptest.ResponseRecorder {
	s.t.Helper()
	method, path, _ := strings.Cut(do, " ")
	r := s.request(role, method, path, body)
	for i := 0; i+1 < len(headers); i += 2 {
		r.Header.Set(headers[i], headers[i+1])
	}
	w := httptest.NewRecorder()
	s.service.Handler().ServeHTTP(w, r)
	return w
}

// TestLists sorts, narrows to what has changed, and leaves out what was not asked
// for, on both databases.
func TestLists(t *testing.T) {
	both(t, func(t *testing.T, s *shop) {
		s.rolling()
		later := s.now.Add(time.Hour).Format(time.RFC3339)
		s.run([]step{
			{name: "by diameter", as: port.Viewer, do: "GET /v1/rolls?sort=-diameter_mm&limit=1&fields=number,state.diameter_mm", status: 200, want: `{"items":[{"number":"BF2T","state":{"diameter_mm":1500}}],"next":"~"}`, without: []string{"stage", "grade"}},
			{name: "and by pages", as: port.Viewer, do: "GET /v1/rolls?sort=diameter_mm&limit=4&fields=number", status: 200, want: `{"items":[{"number":"WF1B"},{"number":"WF1T"},{"number":"WF2B"},{"number":"WF2T"}]}`},
			{name: "backwards", as: port.Viewer, do: "GET /v1/rolls?sort=-number&role=work&fields=number", status: 200, want: `{"items":[{"number":"WF2T"},{"number":"WF2B"},{"number":"WF1T"},{"number":"WF1B"}]}`},
			{name: "oldest first", as: port.Viewer, do: "GET /v1/changes?sort=at&limit=1&fields=stand,role", status: 200, want: `{"items":[{"stand":"F1","role":"work"}]}`},
			{name: "one roll in parts", as: port.Viewer, do: "GET /v1/rolls/WF1T?fields=number,state.fit,totals.tonnage_t", status: 200, want: `{"number":"WF1T","state":{"fit":{}},"totals":{"tonnage_t":0}}`, without: []string{"stage", "rolled_km"}},
			{name: "no such part", as: port.Viewer, do: "GET /v1/rolls?fields=number,diametre", status: 400, want: `{"errors":[{"pointer":"fields","detail":"~since_grind"}]}`},
			{name: "no such order", as: port.Viewer, do: "GET /v1/rolls?sort=weight", status: 400},
			{name: "before there were events", as: port.Viewer, do: "GET /v1/rolls?changed_since=2020-01-01T00:00:00Z", status: 410, want: `{"type":"/problems/gone"}`},
			{name: "nothing since", as: port.Viewer, do: "GET /v1/rolls?changed_since=" + later, status: 200, want: `{"items":[]}`},
		})
		s.now = s.now.Add(2 * time.Hour)
		s.run([]step{
			{name: "a hold", as: port.Grinder, do: "POST /v1/rolls/WF1T/holds", body: `{"reason":"a mark"}`, status: 201},
			{name: "a roll since", as: port.Viewer, do: "GET /v1/rolls?fields=number&changed_since=" + later, status: 200, want: `{"items":[{"number":"WF1T"}]}`},
			{name: "no set since", as: port.Viewer, do: "GET /v1/sets?changed_since=" + later, status: 200, want: `{"items":[]}`},
			{name: "a change", as: port.Shift, do: "POST /v1/changes", body: `{"stand":"F2","role":"work","empty":true}`, status: 201},
			{name: "a set since", as: port.Viewer, do: "GET /v1/sets?fields=name&changed_since=" + later, status: 200, want: `{"items":[{"name":"WF2"}]}`},
			{name: "its change", as: port.Viewer, do: "GET /v1/changes?fields=set_out&changed_since=" + later, status: 200, want: `{"items":[{"set_out":"WF2"}]}`},
		})
	})
}

// TestRollsInAListAreLight: profiles and widths come when they are named.
func TestRollsInAListAreLight(t *testing.T) {
	s := openFile(t)
	s.rolling()
	s.importLines(piece("P1", s.now))
	heavy := []string{"wear_profile", "widths"}
	s.run([]step{
		{name: "light", as: port.Viewer, do: "GET /v1/rolls?stand=F1&role=work", status: 200, without: heavy},
		{name: "asked for", as: port.Viewer, do: "GET /v1/rolls?stand=F1&role=work&limit=1&fields=number,totals.wear_profile", status: 200, want: `{"items":[{"totals":{"wear_profile":{"um":"~"}}}]}`, without: []string{"widths"}},
		{name: "all of it", as: port.Viewer, do: "GET /v1/rolls?stand=F1&role=work&limit=1&fields=totals", status: 200, want: `{"items":[{"totals":{"wear_profile":{},"widths":"~"}}]}`},
		{name: "one roll is whole", as: port.Viewer, do: "GET /v1/rolls/WF1T", status: 200, want: `{"totals":{"wear_profile":{},"widths":"~"}}`},
	})
}

// TestTables gives lists and reports as comma-separated values, in which nothing
// can be taken for a formula.
func TestTables(t *testing.T) {
	s := openFile(t)
	s.rolling()
	s.take(step{name: "a title", as: port.Engineer, do: "POST /v1/mills", body: `{"name":"bar","kind":"bar","title":"=cmd|' /C calc'!A0, \"x\""}`, status: 201})
	table := func(path string, headers ...string) [][]string {
		t.Helper()
		w := s.asked(port.Viewer, "GET "+path, "", append([]string{"Accept", "text/csv"}, headers...)...)
		if w.Code != 200 || !strings.HasPrefix(w.Header().Get("Content-Type"), "text/csv") || !strings.HasSuffix(w.Body.String(), "\r\n") {
			t.Fatalf("%s: %d %v %s", path, w.Code, w.Header(), w.Body)
		}
		rows, err := csv.NewReader(w.Body).ReadAll()
		if err != nil {
			t.Fatalf("%s: %v", path, err)
		}
		return rows
	}
	if rows := table("/v1/mills"); fmt.Sprint(rows[0]) != "[name kind density_kg_per_m3 title]" || rows[1][0] != "bar" || rows[1][3] != `'=cmd|' /C calc'!A0, "x"` {
		t.Errorf("mills: %q", rows)
	}
	rolls := table("/v1/rolls?limit=3")
	if len(rolls) != 4 || rolls[0][0] != "number" || len(rolls[1]) != len(rolls[0]) {
		t.Errorf("rolls: %q", rolls)
	}
	if some := table("/v1/rolls?fields=number,state.diameter_mm&role=work"); fmt.Sprint(some[:2]) != "[[number state.diameter_mm] [WF1B 700]]" {
		t.Errorf("parts of rolls: %q", some)
	}
	w := s.asked(port.Viewer, "GET /v1/rolls?limit=3", "", "Accept", "text/csv")
	if link := w.Header().Get("Link"); !strings.HasPrefix(link, "</v1/rolls?cursor=") || !strings.HasSuffix(link, `; rel="next"`) {
		t.Errorf("the next page: %q", link)
	}
	for _, path := range []string{"stock", "consumption", "buying", "populations", "scores"} {
		if rows := table("/v1/reports/" + path); len(rows[0]) < 3 {
			t.Errorf("%s: %q", path, rows)
		}
	}
	if rows := table("/v1/forecasts"); len(rows) != 9 {
		t.Errorf("forecasts: %q", rows)
	}
	for accept, want := range map[string]string{"": "application/json", "*/*": "application/json", "text/csv;q=0.5, application/json": "application/json", "text/*": "text/csv", "text/csv, application/json;q=0.9": "text/csv", "image/png": "application/json"} {
		if w := s.asked(port.Viewer, "GET /v1/mills", "", "Accept", accept); !strings.HasPrefix(w.Header().Get("Content-Type"), want) {
			t.Errorf("Accept %q gave %s", accept, w.Header().Get("Content-Type"))
		}
	}
	if w := s.asked(port.Viewer, "GET /v1/rolls?limit=x", "", "Accept", "text/csv"); w.Code != 400 || w.Header().Get("Content-Type") != "application/problem+json" {
		t.Errorf("a refusal: %d %v", w.Code, w.Header())
	}
}

func unpack(t *testing.T, w *httptest.ResponseRecorder) string {
	t.Helper()
	var r io.Reader = w.Body
	var err error
	switch w.Header().Get("Content-Encoding") {
	case "gzip":
		r, err = gzip.NewReader(w.Body)
	case "zstd":
		var z *zstd.Decoder
		z, err = zstd.NewReader(w.Body)
		r = z
	}
	if err != nil {
		t.Fatal(err)
	}
	text, err := io.ReadAll(r)
	if err != nil {
		t.Fatal(err)
	}
	return string(text)
}

func packedAs(coding, text string) string {
	var out bytes.Buffer
	var w io.WriteCloser = gzip.NewWriter(&out)
	if coding == "zstd" {
		w, _ = zstd.NewWriter(&out)
	}
	_, _ = io.WriteString(w, text)
	_ = w.Close()
	return out.String()
}

// TestCodings sends and takes gzip and zstd, small and large, and keeps tags true.
func TestCodings(t *testing.T) {
	s := openFile(t)
	s.rolling()
	plain := s.asked(port.Viewer, "GET /v1/rolls", "").Body.String()
	for accept, want := range map[string]string{"gzip": "gzip", "zstd, gzip": "zstd", "gzip;q=1, zstd;q=0.5": "gzip", "br": "", "gzip;q=0": "", "identity": "", "*": "zstd", "gzip;q=0.1, identity": "", "": ""} {
		w := s.asked(port.Viewer, "GET /v1/rolls", "", "Accept-Encoding", accept)
		if got := w.Header().Get("Content-Encoding"); got != want || unpack(t, w) != plain || want != "" && w.Body.Len() > len(plain)/3 {
			t.Errorf("Accept-Encoding %q: %q", accept, got)
		}
	}
	if w := s.asked(port.Viewer, "GET /v1/mills", "", "Accept-Encoding", "gzip"); w.Header().Get("Content-Encoding") != "" || !strings.Contains(w.Body.String(), "hot") {
		t.Errorf("a small answer: %v", w.Header())
	}
	if w := s.asked(port.Viewer, "GET /v1/rolls/NONE", "", "Accept-Encoding", "gzip"); w.Code != 404 || !strings.Contains(unpack(t, w), "not-found") {
		t.Errorf("a refusal: %d %s", w.Code, w.Body)
	}
	w := s.asked(port.Viewer, "GET /v1/rolls/WF1T", "", "Accept-Encoding", "gzip")
	tag := w.Header().Get("ETag")
	if !strings.HasSuffix(tag, `-gzip"`) {
		t.Errorf("the tag of a packed answer: %s", tag)
	}
	if w := s.asked(port.Viewer, "GET /v1/rolls/WF1T", "", "If-None-Match", tag, "Accept-Encoding", "gzip"); w.Code != 304 || w.Body.Len() > 0 {
		t.Errorf("not changed: %d", w.Code)
	}
	for i, coding := range []string{"gzip", "zstd", "GZIP"} {
		body := fmt.Sprintf(`{"name":"G%d","family":"cast_steel"}`, i)
		if w := s.asked(port.Engineer, "POST /v1/grades", packedAs(strings.ToLower(coding), body), "Content-Encoding", coding); w.Code != 201 {
			t.Errorf("%s in: %d %s", coding, w.Code, w.Body)
		}
		lines := piece(fmt.Sprint("P", i), s.now) + "\n" + piece(fmt.Sprint("Q", i), s.now)
		if w := s.asked(port.Shift, "POST /v1/pieces", packedAs(strings.ToLower(coding), lines), "Content-Encoding", coding, "Content-Type", "application/x-ndjson"); !strings.Contains(w.Body.String(), `"stored_count":2`) {
			t.Errorf("lines as %s: %d %s", coding, w.Code, w.Body)
		}
	}
	if w := s.asked(port.Shift, "POST /v1/changes", `{"stand":"F1","role":"work"}`, "If-Match", tag); w.Code >= 500 {
		t.Errorf("%d %s", w.Code, w.Body)
	}
	for name, c := range map[string]struct {
		coding, body string
		status       int
	}{
		"not packed":     {"gzip", `{"name":"X","family":"cast_steel"}`, 400},
		"not packed too": {"zstd", `{"name":"X","family":"cast_steel"}`, 400},
		"cut off":        {"gzip", packedAs("gzip", `{"name":"X","family":"cast_steel"}`)[:20], 400},
		"unknown":        {"br", `{}`, 415},
		"twice":          {"gzip, gzip", `{}`, 415},
		"grown large":    {"gzip", packedAs("gzip", `{"name":"X","family":"cast_steel","title":"`+strings.Repeat("a", 20<<20)+`"}`), 413},
		"grown large, z": {"zstd", packedAs("zstd", `{"name":"X","family":"cast_steel","title":"`+strings.Repeat("a", 20<<20)+`"}`), 413},
	} {
		if w := s.asked(port.Engineer, "POST /v1/grades", c.body, "Content-Encoding", c.coding); w.Code != c.status {
			t.Errorf("%s: %d %s, want %d", name, w.Code, w.Body, c.status)
		}
	}
	if s.log.Len() > 0 {
		t.Errorf("the service logged: %s", s.log)
	}
}

// TestOtherMethods asks HEAD and OPTIONS of every path of the contract.
func TestOtherMethods(t *testing.T) {
	s := open(t, filetest.Path(t), rest.Options{LongestWait: time.Millisecond})
	s.rolling()
	s.take(step{name: "campaign", as: port.Shift, do: "POST /v1/campaigns", body: programme("C1", 12), status: 201})
	change := ""
	heads := 0
	for path, item := range s.doc.Paths.Map() {
		at := strings.NewReplacer("{roll}", "WF1T", "{stand}", "F1", "{set}", "WF1", "{campaign}", "C1", "{practice}", "asks-nothing", "{change}", change).Replace(path)
		allow := s.asked("", "OPTIONS "+at, "")
		if allow.Code != 204 || allow.Body.Len() > 0 {
			t.Errorf("OPTIONS %s: %d", path, allow.Code)
		}
		for method := range item.Operations() {
			if !strings.Contains(allow.Header().Get("Allow"), method) {
				t.Errorf("OPTIONS %s: %q lacks %s", path, allow.Header().Get("Allow"), method)
			}
		}
		if item.Get == nil || strings.Contains(at, "{") {
			continue
		}
		heads++
		get, head := s.asked(port.Admin, "GET "+at, ""), s.asked(port.Admin, "HEAD "+at, "")
		if head.Code != get.Code || head.Body.Len() > 0 || head.Header().Get("Content-Type") != get.Header().Get("Content-Type") || head.Header().Get("ETag") != get.Header().Get("ETag") {
			t.Errorf("HEAD %s: %d %v %q, GET %d %v", path, head.Code, head.Header(), head.Body, get.Code, get.Header())
		}
	}
	if heads < 20 {
		t.Errorf("only %d paths were asked", heads)
	}
	for do, status := range map[string]int{"HEAD /v1/rolls": 401, "HEAD /v1/rolls/NONE": 401, "DELETE /v1/rolls": 405} {
		if w := s.asked("", do, ""); w.Code != status {
			t.Errorf("%s: %d", do, w.Code)
		}
	}
}
