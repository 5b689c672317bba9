package rest_test

import (
	"context"
	"encoding/json"
	"fmt"
	"net/http/httptest"
	"strings"
	"testing"
	"time"

	"barrelbook/api/app/port"
	"barrelbook/api/embedded"
	"barrelbook/api/rest"
	"barrelbook/api/store/filetest"
	"barrelbook/api/store/pgtest"
)

// reads asks a service for a roll as a viewer.
func reads(t *testing.T, s *embedded.Service, secret, number, ifNoneMatch string) *httptest.ResponseRecorder {
	t.Helper()
	r := httptest.NewRequest("GET", "/v1/rolls/"+number, nil)
	r.Header.Set("Authorization", "Bearer "+secret)
	if ifNoneMatch != "" {
		r.Header.Set("If-None-Match", ifNoneMatch)
	}
	w := httptest.NewRecorder()
	s.Handler().ServeHTTP(w, r)
	return w
}

// TestKeptAnswersAreThoseOfNow: after each of the things that change what is shown
// of a roll, recorded by one process, another that has kept its answers gives what
// one that was just started gives, with the same ETag.
func TestKeptAnswersAreThoseOfNow(t *testing.T) {
	for name, database := range map[string]func(t *testing.T) string{"file": func(t *testing.T) string { return filetest.Path(t) }, "postgresql": func(t *testing.T) string { return pgtest.DSN(t) }} {
		t.Run(name, func(t *testing.T) {
			path := database(t)
			s := open(t, path, rest.Options{})
			another := func() *embedded.Service {
				o, err := embedded.Open(context.Background(), embedded.Options{Path: path, Volatile: true, Now: func() time.Time { return s.now }, Version: "test", Tokens: true})
				if err != nil {
					t.Fatal(err)
				}
				return o
			}
			keeps := another()
			defer keeps.Close()
			tags := map[string]string{}
			same := func(after string) {
				t.Helper()
				fresh := another()
				defer fresh.Close()
				rolls := s.take(step{name: "rolls", as: port.Viewer, do: "GET /v1/rolls?limit=500", status: 200})
				var list struct {
					Items []struct{ Number string }
				}
				if err := json.Unmarshal(rolls.Body.Bytes(), &list); err != nil {
					t.Fatal(err)
				}
				for _, one := range list.Items {
					kept, want := reads(t, keeps, s.tokens[port.Viewer], one.Number, ""), reads(t, fresh, s.tokens[port.Viewer], one.Number, "")
					if kept.Body.String() != want.Body.String() || kept.Header().Get("ETag") != want.Header().Get("ETag") {
						t.Fatalf("after %s roll %s is kept as\n%s\nand is\n%s", after, one.Number, kept.Body, want.Body)
					}
					changed, status := tags[one.Number] != want.Header().Get("ETag"), reads(t, keeps, s.tokens[port.Viewer], one.Number, tags[one.Number]).Code
					if tags[one.Number] != "" && (status == 304) == changed {
						t.Fatalf("after %s roll %s: %d to If-None-Match, changed %v", after, one.Number, status, changed)
					}
					tags[one.Number] = want.Header().Get("ETag")
				}
			}
			s.rolling()
			s.set("NEXT", "work", 699)
			same("nothing")
			same("nothing again")
			sent := 0
			roll := func(n int) {
				var lines []string
				for range n {
					sent++
					lines = append(lines, piece(fmt.Sprint("C", sent), s.now.Add(-time.Minute+time.Duration(sent)*time.Millisecond)))
				}
				if status, answers := s.importLines(strings.Join(lines, "\n")); status != 200 || !strings.Contains(answers[n], `"refused_count":0`) {
					t.Fatal(status, answers)
				}
			}
			roll(30)
			same("pieces")
			roll(3)
			same("more pieces")
			for _, one := range []step{
				{do: "POST /v1/rolls/NEXTT/holds", body: `{"reason":"chatter"}`},
				{do: "POST /v1/rolls/NEXTT/releases", body: `{"reason":"none"}`},
				{do: "POST /v1/practices", body: `{"name":"long-cooling","scope":{},"values":{"cooling_h":20,"max_campaign_t":700}}`},
				{do: "POST /v1/changes", later: time.Hour, body: `{"stand":"F1","role":"work","set_in":"NEXT"}`},
				{do: "POST /v1/rolls/WF1T/regrinds", later: 19 * time.Hour, body: `{"found_mm":699.9,"ground_mm":699.5,"purpose":"wear"}`},
				{do: "POST /v1/rolls/WF1B/regrinds", body: `{"found_mm":699.9,"ground_mm":699.5,"purpose":"wear"}`},
				{do: "POST /v1/grades", later: 2 * time.Hour, body: `{"name":"ICDP","family":"indefinite_chill"}`},
				{do: "POST /v1/incidents", body: `{"what":"cobble","stand":"F1"}`},
				{do: "POST /v1/rolls/WF1T/corrections", body: `{"entry":5,"reason":"the wrong gauge","regrind":{"found_mm":699.85,"ground_mm":699.4,"purpose":"wear"}}`},
				{do: "POST /v1/chocks", body: `{"name":"K1","mill":"hot","role":"work","bearing":"b1"}`},
				{do: "POST /v1/chocks/K1/fittings", body: `{"set":"WF1","place":"top_drive"}`},
				{do: "POST /v1/chocks/K1/inspections", body: `{"outcome":"passed"}`},
				{do: "POST /v1/changes", later: time.Hour, body: `{"stand":"F1","role":"work","set_in":"WF1"}`},
			} {
				one.name, one.as, one.status = one.do, port.Engineer, 201
				s.take(one)
				same(one.do)
			}
			roll(40)
			same("pieces after a change")
			s.now = s.now.Add(20 * time.Hour)
			same("cooling")
		})
	}
}

// TestRevokedTokenEverywhere: a token that one process revoked is refused by it at
// once and by another within a second.
func TestRevokedTokenEverywhere(t *testing.T) {
	for name, database := range map[string]func(t *testing.T) string{"file": func(t *testing.T) string { return filetest.Path(t) }, "postgresql": func(t *testing.T) string { return pgtest.DSN(t) }} {
		t.Run(name, func(t *testing.T) {
			path := database(t)
			s := open(t, path, rest.Options{})
			s.works()
			other, err := embedded.Open(context.Background(), embedded.Options{Path: path, Volatile: true, Version: "test", Tokens: true})
			if err != nil {
				t.Fatal(err)
			}
			defer other.Close()
			secret := s.tokens[port.Grinder]
			s.take(step{name: "roll", as: port.Grinder, do: "POST /v1/rolls", body: receipt("A", "work", 700, s.now, true), status: 201})
			for range 3 {
				if w := reads(t, other, secret, "A", ""); w.Code != 200 {
					t.Fatal(w.Code, w.Body)
				}
			}
			if w := reads(t, s.service, secret, "A", ""); w.Code != 200 {
				t.Fatal(w.Code, w.Body)
			}
			s.take(step{name: "revoke", as: port.Admin, do: "DELETE /v1/tokens/grinder", status: 204})
			revoked := time.Now()
			if w := reads(t, s.service, secret, "A", ""); w.Code != 401 {
				t.Errorf("%d where it was revoked", w.Code)
			}
			for {
				w, after := reads(t, other, secret, "A", ""), time.Since(revoked)
				if w.Code == 401 {
					t.Logf("heeded after %v", after)
					break
				}
				if after > time.Second {
					t.Fatalf("%d after %v", w.Code, after)
				}
				time.Sleep(20 * time.Millisecond)
			}
		})
	}
}
