package rest_test

import (
	"encoding/json"
	"fmt"
	"net/http/httptest"
	"strings"
	"testing"
	"time"

	"barrelbook/api/app/port"
	"barrelbook/api/rest"
	"barrelbook/api/store/filetest"
)

// internals are texts that no answer may hold.
var internals = []string{"goroutine", ".go:", "SELECT", "sqlite", "Schema:", "additionalProperties", "regular expression", "property \""}

// TestBadRequests sends what is not by the contract. Each field at fault is
// named once and in plain words.
func TestBadRequests(t *testing.T) {
	s := openFile(t)
	s.works()
	regrind := "POST /v1/rolls/W1/regrinds"
	for _, one := range []step{
		{name: "empty body", do: "POST /v1/mills", headers: map[string]string{"Content-Type": "application/json"}, status: 400, want: `{"type":"/problems/malformed","detail":"~empty"}`},
		{name: "empty object", do: "POST /v1/mills", body: `{}`, status: 400, want: `{"errors":[{"pointer":"#/kind","detail":"is missing"},{"pointer":"#/name","detail":"is missing"}]}`},
		{name: "not JSON", do: "POST /v1/mills", body: `{"name":`, status: 400, want: `{"detail":"~not JSON"}`},
		{name: "two values", do: "POST /v1/mills", body: `{"name":"a","kind":"plate"}{"x":1}`, status: 400, want: `{"detail":"~after the end"}`},
		{name: "a list", do: "POST /v1/mills", body: `[]`, status: 400, want: `{"errors":[{"pointer":"#","detail":"must be an object, not a list"}]}`},
		{name: "null", do: "POST /v1/mills", body: `null`, status: 400},
		{name: "unknown field", do: "POST /v1/mills", body: `{"name":"a","kind":"plate","titel":"x"}`, status: 400, want: `{"errors":[{"pointer":"#/titel","detail":"is not a field here; did you mean title?"}]}`},
		{name: "name in capitals", do: "POST /v1/mills", body: `{"NAME":"a","kind":"plate"}`, status: 400, want: `{"errors":[{"pointer":"#/NAME"},{"pointer":"#/name","detail":"is missing"}]}`},
		{name: "given twice", do: "POST /v1/mills", body: `{"name":"a","kind":"plate","name":"b"}`, status: 400, want: `{"errors":[{"pointer":"#/name","detail":"is given twice; give it once"}]}`},
		{name: "enum", do: "POST /v1/mills", body: `{"name":"a","kind":"hot"}`, status: 400, want: `{"errors":[{"pointer":"#/kind","detail":"\"hot\" is not one of: cogging, billet, bar, plate, hot_strip, cold_tandem, temper"}]}`},
		{name: "name with blanks", do: "POST /v1/mills", body: `{"name":"a b","kind":"plate"}`, status: 400, want: `{"errors":[{"pointer":"#/name","detail":"~may hold only letters"}]}`},
		{name: "control character", do: "POST /v1/mills", body: `{"name":"a","kind":"plate","title":"x\u0000y"}`, status: 400, want: `{"errors":[{"pointer":"#/title","detail":"~control"}]}`},
		{name: "text for a number", do: regrind, body: `{"found_mm":"699","ground_mm":698,"purpose":"wear"}`, status: 400, want: `{"errors":[{"pointer":"#/found_mm","detail":"must be a number, not \"699\""}]}`},
		{name: "1e400", do: regrind, body: `{"found_mm":1e400,"ground_mm":698,"purpose":"wear"}`, status: 400, want: `{"errors":[{"pointer":"#/found_mm","detail":"1e400 is too large a number"}]}`},
		{name: "NaN", do: regrind, body: `{"found_mm":NaN,"ground_mm":698,"purpose":"wear"}`, status: 400, want: `{"detail":"~not JSON at byte"}`},
		{name: "too small", do: regrind, body: `{"found_mm":0.5,"ground_mm":698,"purpose":"wear"}`, status: 400, want: `{"errors":[{"pointer":"#/found_mm","detail":"0.5 is below the least allowed, 1"}]}`},
		{name: "exclusive minimum is one line", do: "POST /v1/stands", body: `{"name":"X","mill":"hot","order":3,"arrangement":"two_high","max_force_kn":-1}`, status: 400, want: `{"errors":[{"pointer":"#/max_force_kn"}]}`},
		{name: "null field", do: regrind, body: `{"found_mm":null,"ground_mm":698,"purpose":"wear"}`, status: 400, want: `{"errors":[{"pointer":"#/found_mm","detail":"must not be null; leave it out instead"}]}`},
		{name: "half a piece", do: "POST /v1/change-plans", body: `{"campaign":"C","grinder_count":1.5}`, status: 400, want: `{"errors":[{"pointer":"#/grinder_count","detail":"1.5 must be a whole number"}]}`},
		{name: "impossible date", do: regrind, body: `{"found_mm":699,"ground_mm":698,"purpose":"wear","at":"2031-02-30T25:61:00Z"}`, status: 400, want: `{"errors":[{"pointer":"#/at","detail":"~is not a time such as"}]}`},
		{name: "deep in a list", do: regrind, body: `{"found_mm":699,"ground_mm":698,"purpose":"wear","tests":[{"test":"visual","outcome":"passed"},{"test":"visual","outcome":"good"}]}`, status: 400, want: `{"errors":[{"pointer":"#/tests/1/outcome"}]}`},
		{name: "service's own field", do: "POST /v1/stands", body: `{"name":"X","mill":"hot","order":3,"arrangement":"two_high","version":4}`, status: 400, want: `{"errors":[{"pointer":"#/version","detail":"is given by the service; leave it out"}]}`},
		{name: "finer than the book", as: port.Grinder, do: "POST /v1/rolls", body: strings.Replace(receipt("W1", "work", 700, start, true), `"diameter_mm":700`, `"diameter_mm":700.00005`, 1), status: 422, want: `{"errors":[{"pointer":"#/diameter_mm","detail":"~finer than a micrometre"}]}`},
		{name: "unknown parameter", do: "GET /v1/rolls?colour=red", status: 400, want: `{"errors":[{"pointer":"colour","detail":"~it takes changed_since, cursor, fields, grade"}]}`},
		{name: "parameter twice", do: "GET /v1/rolls?limit=1&limit=2", status: 400, want: `{"errors":[{"pointer":"limit","detail":"is given twice; give it once"}]}`},
		{name: "limit 0", do: "GET /v1/rolls?limit=0", status: 400, want: `{"errors":[{"pointer":"limit","detail":"0 is below the least allowed, 1"}]}`},
		{name: "limit in words", do: "GET /v1/rolls?limit=ten", status: 400, want: `{"errors":[{"pointer":"limit","detail":"must be a whole number"}]}`},
		{name: "bad enum parameter", do: "GET /v1/rolls?stage=lost", status: 400, want: `{"errors":[{"pointer":"stage"}]}`},
		{name: "no cursor", do: "GET /v1/rolls?cursor=nonsense", status: 400, want: `{"errors":[{"pointer":"cursor"}]}`},
		{name: "no time", do: "GET /v1/rolls/W1?as_of=yesterday", status: 400, want: `{"errors":[{"pointer":"as_of"}]}`},
		{name: "bad path", do: "GET /v1/rolls/a%20b", status: 400, want: `{"errors":[{"pointer":"roll","detail":"~may hold only"}]}`},
		{name: "key not ASCII", do: "POST /v1/mills", body: `{"name":"a","kind":"plate"}`, headers: map[string]string{"Idempotency-Key": "ключ"}, status: 400, want: `{"errors":[{"pointer":"Idempotency-Key"}]}`},
		{name: "wrong media type", do: "POST /v1/mills", body: `name=a`, headers: map[string]string{"Content-Type": "application/x-www-form-urlencoded"}, status: 415, want: `{"type":"/problems/media-type","detail":"~application/json"}`},
		{name: "lines as JSON", do: "POST /v1/pieces", body: `{}`, status: 415, want: `{"detail":"~application/x-ndjson"}`},
		{name: "body in a coding", do: "POST /v1/mills", body: `{"name":"a","kind":"plate"}`, headers: map[string]string{"Content-Encoding": "br"}, status: 415},
		{name: "wrong method", do: "DELETE /v1/mills", status: 405, header: map[string]string{"Allow": "~POST"}, want: `{"type":"/problems/method-not-allowed"}`},
		{name: "no such path", do: "GET /v1/cats", status: 404, want: `{"type":"/problems/no-such-path"}`},
		{name: "no such roll", do: "GET /v1/rolls/W9", status: 404, want: `{"type":"/problems/not-found","detail":"~W9"}`},
		{name: "too large", do: "POST /v1/mills", body: `{"name":"a","kind":"plate","title":"` + strings.Repeat("x", 1<<20) + `"}`, status: 413, want: `{"type":"/problems/too-large"}`},
		{name: "too deep", do: "POST /v1/mills", body: strings.Repeat("[", 5000), status: 400, want: `{"detail":"~nests"}`},
		{name: "domain's refusal of a calculation", do: "POST /v1/calculations/contact", body: `{"work":{"diameter_mm":-700,"elastic_modulus_mpa":206000,"poisson_ratio":0.3},"backup":{"diameter_mm":1500,"elastic_modulus_mpa":206000,"poisson_ratio":0.7},"line_load_n_per_mm":10000}`, status: 422,
			want: `{"type":"/problems/impossible","errors":[{"pointer":"#/work/diameter_mm","detail":"-700 must be greater than 0"},{"pointer":"#/backup/poisson_ratio"}]}`},
	} {
		t.Run(one.name, func(t *testing.T) {
			if one.as == "" {
				one.as = port.Admin
			}
			one.without = internals
			inner := *s
			inner.t = t
			inner.take(one)
		})
	}
	if s.log.Len() > 0 {
		t.Errorf("refusals were logged as failures: %s", s.log)
	}
}

// TestTokens asks who may come in: no token, a wrong, an expired, a revoked
// one, and one whose role is too small.
func TestTokens(t *testing.T) {
	s := openFile(t)
	bearer := func(secret string) map[string]string { return map[string]string{"Authorization": "Bearer " + secret} }
	challenge := map[string]string{"WWW-Authenticate": "~Bearer"}
	w := s.take(step{name: "a short one", as: port.Admin, do: "POST /v1/tokens", body: `{"name":"guest","role":"viewer","expires_at":"2031-03-03T07:00:00Z"}`, status: 201, want: `{"token":{"name":"guest"}}`})
	var made struct{ Secret string }
	if err := json.Unmarshal(w.Body.Bytes(), &made); err != nil || made.Secret == "" {
		t.Fatalf("no secret: %s", w.Body)
	}
	s.run([]step{
		{name: "it works", do: "GET /v1/works", headers: bearer(made.Secret), status: 200, want: `{"actor":"guest","role":"viewer"}`},
		{name: "no token", do: "GET /v1/works", status: 401, header: challenge, want: `{"type":"/problems/unauthorised"}`},
		{name: "another scheme", do: "GET /v1/works", headers: map[string]string{"Authorization": "Basic eDp5"}, status: 401, header: challenge},
		{name: "wrong token", do: "GET /v1/works", headers: bearer("bb_wrong"), status: 401, header: challenge, without: []string{"bb_wrong"}},
		{name: "too small a role", as: port.Viewer, do: "POST /v1/mills", body: `{"name":"a","kind":"plate"}`, status: 403, want: `{"type":"/problems/forbidden","detail":"~needs the role engineer, and viewer has the role viewer"}`},
		{name: "shown once", as: port.Admin, do: "GET /v1/tokens", status: 200, without: []string{made.Secret, "hash"}},
		{name: "expired", later: time.Hour, do: "GET /v1/works", headers: bearer(made.Secret), status: 401, header: challenge},
		{name: "revoke the viewer's", as: port.Admin, do: "DELETE /v1/tokens/viewer", status: 204},
		{name: "revoked", as: port.Viewer, do: "GET /v1/works", status: 401, header: challenge},
		{name: "none of the name", as: port.Admin, do: "DELETE /v1/tokens/nobody", status: 404},
		{name: "expiry in the past", as: port.Admin, do: "POST /v1/tokens", body: `{"name":"old","role":"viewer","expires_at":"2030-01-01T00:00:00Z"}`, status: 422, want: `{"errors":[{"pointer":"#/expires_at"}]}`},
	})
}

// TestPreconditions goes through ETag, If-Match and If-None-Match.
func TestPreconditions(t *testing.T) {
	s := openFile(t)
	s.works()
	body := `{"name":"F1","mill":"hot","order":1,"arrangement":"four_high","max_force_kn":%d}`
	replace := func(name string, force int, match string, status int, want string) step {
		one := step{name: name, as: port.Engineer, do: "PUT /v1/stands/F1", body: fmt.Sprintf(body, force), status: status, want: want}
		if match != "" {
			one.headers = map[string]string{"If-Match": match}
		}
		return one
	}
	w := s.take(step{name: "read", as: port.Viewer, do: "GET /v1/stands/F1", status: 200, header: map[string]string{"ETag": `~"1-`}})
	tag := w.Header().Get("ETag")
	s.run([]step{
		{name: "not changed", as: port.Viewer, do: "GET /v1/stands/F1", headers: map[string]string{"If-None-Match": tag}, status: 304, header: map[string]string{"ETag": ""}},
		replace("without", 1000, "", 428, `{"type":"/problems/unconditional"}`),
		replace("no tag", 1000, "7", 400, `{"errors":[{"pointer":"If-Match"}]}`),
		replace("any", 1000, "*", 400, ""),
		replace("weak", 1000, `W/"1"`, 400, ""),
		replace("with what was read", 1000, tag, 200, `{"version":2,"max_force_kn":1000}`),
		replace("stale", 2000, `"1"`, 412, `{"type":"/problems/stale"}`),
		replace("by version alone", 3000, `"2"`, 200, `{"version":3}`),
		{name: "changed", as: port.Viewer, do: "GET /v1/stands/F1", headers: map[string]string{"If-None-Match": tag}, status: 200},
		{name: "another name in the body", as: port.Engineer, do: "PUT /v1/stands/F2", body: fmt.Sprintf(body, 1), headers: map[string]string{"If-Match": `"1"`}, status: 422, want: `{"errors":[{"pointer":"#/name"}]}`},
	})
	s.set("S1", "work", 700)
	s.run([]step{
		{name: "regrind on a stale version", as: port.Grinder, do: "POST /v1/rolls/S1T/regrinds", body: `{"found_mm":700,"ground_mm":699.9,"purpose":"profile"}`, headers: map[string]string{"If-Match": `"1"`}, status: 412},
		{name: "break without", as: port.Grinder, do: "POST /v1/sets/S1/breakings", body: `{"reason":"test"}`, status: 428},
		{name: "break", as: port.Grinder, do: "POST /v1/sets/S1/breakings", body: `{"reason":"test"}`, headers: map[string]string{"If-Match": `"1"`}, status: 201, want: `{"stage":"broken"}`},
	})
}

// TestNewFiguresAreNotHiddenByAnOldTag: a roll in a stand gains tonnes without
// a new entry in its book, and a reader with the old tag must see them.
func TestNewFiguresAreNotHiddenByAnOldTag(t *testing.T) {
	s := openFile(t)
	s.rolling()
	before := s.take(step{name: "before", as: port.Viewer, do: "GET /v1/rolls/WF1T", status: 200})
	s.importLines(piece("C1", s.now.Add(-time.Minute)))
	s.take(step{name: "after", as: port.Viewer, do: "GET /v1/rolls/WF1T", headers: map[string]string{"If-None-Match": before.Header().Get("ETag")}, status: 200, want: `{"version":3,"totals":{"piece_count":1}}`})
}

// TestCursorsBelongToTheirList: a page's next value is refused by another list
// and under other filters.
func TestCursorsBelongToTheirList(t *testing.T) {
	s := openFile(t)
	s.works()
	for i := range 5 {
		s.take(step{name: "roll", as: port.Grinder, do: "POST /v1/rolls", body: receipt(fmt.Sprint("W", i), "work", 700, s.now, true), status: 201})
	}
	var seen []string
	path := "/v1/rolls?role=work&limit=2"
	next := ""
	for pages := 0; pages < 5; pages++ {
		w := s.take(step{name: "page", as: port.Viewer, do: "GET " + path + next, status: 200})
		var page struct {
			Items []struct{ Number string }
			Next  string
		}
		if err := json.Unmarshal(w.Body.Bytes(), &page); err != nil {
			t.Fatal(err)
		}
		for _, item := range page.Items {
			seen = append(seen, item.Number)
		}
		if page.Next == "" {
			break
		}
		next = "&cursor=" + page.Next
		s.run([]step{
			{name: "other filters", as: port.Viewer, do: "GET /v1/rolls?role=backup&limit=2" + next, status: 400, want: `{"errors":[{"pointer":"cursor"}]}`},
			{name: "other list", as: port.Viewer, do: "GET /v1/grades?limit=2" + next, status: 400},
			{name: "another limit is no other filter", as: port.Viewer, do: "GET /v1/rolls?role=work&limit=3" + next, status: 200},
		})
	}
	if got := strings.Join(seen, " "); got != "W0 W1 W2 W3 W4" {
		t.Errorf("the pages held %s", got)
	}
}

// TestTooManyRequests: a token that sends more than its share waits, another
// does not, and tokens cannot be guessed at speed.
func TestTooManyRequests(t *testing.T) {
	s := open(t, filetest.Path(t), rest.Options{PerSecond: 1, Burst: 3})
	get := func(as port.Role, status int) step {
		return step{name: "get", as: as, do: "GET /v1/works", status: status}
	}
	s.run([]step{get(port.Viewer, 200), get(port.Viewer, 200), get(port.Viewer, 200)})
	s.take(step{name: "one too many", as: port.Viewer, do: "GET /v1/works", status: 429, header: map[string]string{"Retry-After": "1"}, want: `{"type":"/problems/too-many-requests"}`})
	s.run([]step{get(port.Shift, 200), {name: "a second later", later: time.Second, as: port.Viewer, do: "GET /v1/works", status: 200}})
	s.run([]step{get("", 401), get("", 401), get("", 401), get("", 429)})
}

// TestDryRunStoresNothing asks with dry_run and looks for traces.
func TestDryRunStoresNothing(t *testing.T) {
	s := openFile(t)
	s.works()
	s.run([]step{
		{name: "dry", as: port.Grinder, do: "POST /v1/rolls?dry_run=true", body: receipt("W1", "work", 700, s.now, true), status: 201, want: `{"number":"W1"}`, headers: map[string]string{"Idempotency-Key": "k"}},
		{name: "nothing there", as: port.Viewer, do: "GET /v1/rolls/W1", status: 404},
		{name: "the same errors", as: port.Grinder, do: "POST /v1/rolls?dry_run=true", body: receipt("W1", "work", 600, s.now, true), status: 422, want: `{"errors":[{"pointer":"#/diameter_mm"}]}`},
		{name: "the key is free", as: port.Grinder, do: "POST /v1/rolls", body: receipt("W1", "work", 700, s.now, true), status: 201, headers: map[string]string{"Idempotency-Key": "k"}},
	})
}

// TestRequestIDs: one from outside is taken when it is plain, else a new one
// is made.
func TestRequestIDs(t *testing.T) {
	s := openFile(t)
	s.run([]step{
		{name: "taken", as: port.Viewer, do: "GET /v1/works", headers: map[string]string{"X-Request-Id": "shift-3:17"}, status: 200, header: map[string]string{"X-Request-Id": "shift-3:17", "Cache-Control": "no-store"}},
		{name: "in the problem", as: port.Viewer, do: "GET /v1/rolls/no", headers: map[string]string{"X-Request-Id": "shift-3:18"}, status: 404, want: `{"request_id":"shift-3:18","instance":"/v1/rolls/no"}`},
	})
	w := s.take(step{name: "not taken", as: port.Viewer, do: "GET /v1/works", headers: map[string]string{"X-Request-Id": "a b\tc"}, status: 200})
	if id := w.Header().Get("X-Request-Id"); strings.ContainsAny(id, " \t") || id == "" {
		t.Errorf("the request id is %q", id)
	}
}

// TestProbes asks what machines ask.
func TestProbes(t *testing.T) {
	s := openFile(t)
	s.rolling()
	s.importLines(piece("C1", s.now))
	get := func(path string) *httptest.ResponseRecorder {
		return s.send(httptest.NewRequest("GET", path, nil))
	}
	for path, text := range map[string]string{
		"/livez": "alive", "/readyz": "ready", "/version": `"version":"test"`, "/openapi.json": `"operationId":"recordRegrind"`,
		"/docs": "Record a regrind and hear what is left",
	} {
		if w := get(path); w.Code != 200 || !strings.Contains(w.Body.String(), text) {
			t.Errorf("%s: %d, and no %q in %s", path, w.Code, text, shortened(w.Body.String()))
		}
	}
	metrics := get("/metrics").Body.String()
	for _, line := range []string{`barrelbook_pieces_total{status="stored"} 1`, `barrelbook_request_seconds_count{operation="receiveRoll",status="201"} 8`, `barrelbook_database_connections{pool="write"} 1`} {
		if !strings.Contains(metrics, line) {
			t.Errorf("no %q in the metrics", line)
		}
	}
	s.service.Drain()
	if w := get("/readyz"); w.Code != 503 || w.Header().Get("Retry-After") == "" {
		t.Errorf("draining: %d %s", w.Code, w.Body)
	}
	if w := get("/livez"); w.Code != 200 {
		t.Errorf("alive while draining: %d", w.Code)
	}
	_ = s.service.Close()
	if w := s.send(s.request(port.Viewer, "GET", "/v1/works", "")); w.Code != 500 || strings.Contains(w.Body.String(), "sql") {
		t.Errorf("a lost database: %d %s", w.Code, w.Body)
	}
	if s.log.Len() == 0 {
		t.Error("a lost database was not logged")
	}
}
