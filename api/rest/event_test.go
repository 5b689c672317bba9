package rest_test

import (
	"bufio"
	"encoding/json"
	"io"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
	"time"

	"barrelbook/api/app/port"
	"barrelbook/api/oapi"
)

// follow reads events from a path, and gives the cursor to go on with.
func (s *shop) follow(path string) oapi.EventPage {
	s.t.Helper()
	w := s.take(step{name: "follow", as: port.Viewer, do: "GET " + path, status: 200})
	var page oapi.EventPage
	if err := json.Unmarshal(w.Body.Bytes(), &page); err != nil {
		s.t.Fatal(err)
	}
	return page
}

func typesOf(events []oapi.Event) string {
	var types []string
	for _, e := range events {
		types = append(types, strings.TrimPrefix(e.Type, "barrelbook.")+" "+e.Subject)
	}
	return strings.Join(types, ", ")
}

// TestEvents follows a shop from a cursor: what is recorded comes once, in order,
// whole for entries, and by type and mill where that is asked.
func TestEvents(t *testing.T) {
	both(t, func(t *testing.T, s *shop) {
		s.works()
		began := s.follow("/v1/events?from=now&limit=1")
		if len(began.Items) != 0 {
			t.Errorf("from now: %s", typesOf(began.Items))
		}
		s.set("A", "work", 700)
		s.mount("F1", "work", "A")
		s.importLines(piece("P1", s.now))
		all := s.follow("/v1/events?after=" + began.Next)
		want := "entry.received rolls/AT, entry.received rolls/AB, entry.paired rolls/AT, entry.paired rolls/AB, set.built sets/A, entry.mounted rolls/AT, entry.mounted rolls/AB"
		if got := typesOf(all.Items); !strings.HasPrefix(got, want) || !strings.Contains(got, "change.recorded changes/") || !strings.HasSuffix(got, ", pieces.stored pieces") {
			t.Errorf("got %s", got)
		}
		first := all.Items[0]
		if first.Source != "/barrelbook" || first.Specversion != "1.0" || *first.Mill != "hot" || !first.Time.Equal(s.now) || first.Data.Entry.Number != 1 || first.Data.Entry.Roll != "AT" || first.Data.Entry.Body["diameter_mm"] != 700.0 {
			t.Errorf("the first: %+v, entry %+v", first, first.Data.Entry)
		}
		// A page at a time, with a filter, and from the cursor of an event.
		var paged []oapi.Event
		for after := began.Next; ; {
			page := s.follow("/v1/events?limit=2&type=entry,barrelbook.set.built&after=" + after)
			if paged = append(paged, page.Items...); len(page.Items) < 2 {
				break
			}
			after = page.Next
		}
		if len(paged) != 7 || paged[6].Id != all.Items[6].Id {
			t.Errorf("by pages: %s", typesOf(paged))
		}
		if rest := s.follow("/v1/events?after=" + all.Items[4].Cursor); len(rest.Items) != len(all.Items)-5 || rest.Items[0].Id != all.Items[5].Id {
			t.Errorf("from an event: %s", typesOf(rest.Items))
		}
		if other := s.follow("/v1/events?mill=cold&after=" + began.Next); len(other.Items) != 0 || other.Next != all.Next {
			t.Errorf("of another mill: %s", typesOf(other.Items))
		}
		s.run([]step{
			{name: "no cursor", as: port.Viewer, do: "GET /v1/events?after=x", status: 400, want: `{"errors":[{"pointer":"after"}]}`},
			{name: "a cursor of a list", as: port.Viewer, do: "GET /v1/events?after=eyJhIjoxfQ", status: 400},
			{name: "no type", as: port.Viewer, do: "GET /v1/events?type=entries", status: 400, want: `{"errors":[{"pointer":"type","detail":"~change.recorded"}]}`},
			{name: "to come", as: port.Viewer, do: "GET /v1/events?after=OTk5OS8x", status: 410, want: `{"type":"/problems/gone"}`},
			{name: "no token", do: "GET /v1/events", status: 401},
		})
	})
}

// TestEventsAreWaitedFor holds an answer back until there is an event, or the
// service stops.
func TestEventsAreWaitedFor(t *testing.T) {
	both(t, func(t *testing.T, s *shop) {
		s.works()
		now := s.follow("/v1/events?from=now&limit=1").Next
		answers := make(chan *httptest.ResponseRecorder, 1)
		wait := func(after string) {
			w := httptest.NewRecorder()
			s.service.Handler().ServeHTTP(w, s.request(port.Viewer, "GET", "/v1/events?wait_s=60&type=incident&after="+after, ""))
			answers <- w
		}
		go wait(now)
		s.take(step{name: "not asked for", as: port.Engineer, do: "POST /v1/grades", body: `{"name":"G","family":"cast_steel"}`, status: 201})
		s.take(step{name: "a roll", as: port.Grinder, do: "POST /v1/rolls", body: receipt("R", "work", 700, s.now, true), status: 201})
		select {
		case w := <-answers:
			t.Fatalf("it did not wait: %s", w.Body)
		case <-time.After(50 * time.Millisecond):
		}
		s.take(step{name: "asked for", as: port.Grinder, do: "POST /v1/incidents", body: `{"what":"pinch","roll":"R"}`, status: 201})
		var page oapi.EventPage
		select {
		case w := <-answers:
			if err := json.Unmarshal(w.Body.Bytes(), &page); err != nil || len(page.Items) != 1 || page.Items[0].Type != "barrelbook.incident.recorded" {
				t.Fatalf("%v %s", err, w.Body)
			}
		case <-time.After(20 * time.Second):
			t.Fatal("it waited for ever")
		}
		go wait(page.Next)
		time.Sleep(20 * time.Millisecond)
		s.service.Drain()
		select {
		case w := <-answers:
			if w.Code != 503 || !strings.Contains(w.Body.String(), "/problems/draining") {
				t.Errorf("while stopping: %d %s", w.Code, w.Body)
			}
		case <-time.After(20 * time.Second):
			t.Fatal("it did not end with the service")
		}
	})
}

// TestEventStream reads server-sent events, is cut off and goes on from the last.
func TestEventStream(t *testing.T) {
	both(t, func(t *testing.T, s *shop) {
		s.works()
		server := httptest.NewServer(s.service.Handler())
		defer server.Close()
		open := func(query, last string) (*bufio.Scanner, func()) {
			r, err := http.NewRequestWithContext(t.Context(), "GET", server.URL+"/v1/events"+query, nil)
			if err != nil {
				t.Fatal(err)
			}
			r.Header.Set("Authorization", "Bearer "+s.tokens[port.Viewer])
			r.Header.Set("Accept", "text/event-stream")
			if last != "" {
				r.Header.Set("Last-Event-ID", last)
			}
			w, err := http.DefaultClient.Do(r)
			if err != nil || w.StatusCode != 200 || w.Header.Get("Content-Type") != "text/event-stream" {
				t.Fatal(err, w)
			}
			return bufio.NewScanner(w.Body), func() { _ = w.Body.Close() }
		}
		// next reads one event: its id and its data.
		next := func(lines *bufio.Scanner) (id string, e oapi.Event) {
			t.Helper()
			for lines.Scan() {
				name, value, _ := strings.Cut(lines.Text(), ": ")
				switch name {
				case "id":
					id = value
				case "data":
					if err := json.Unmarshal([]byte(value), &e); err != nil {
						t.Fatal(err)
					}
					return id, e
				}
			}
			t.Fatal("the stream ended", lines.Err())
			return "", e
		}
		lines, cut := open("?from=now&type=grade", "")
		grade := func(name string) {
			t.Helper()
			s.take(step{name: name, as: port.Engineer, do: "POST /v1/grades", body: `{"name":"` + name + `","family":"cast_steel"}`, status: 201})
		}
		grade("G1")
		id, e := next(lines)
		if e.Subject != "grades/G1" || id != e.Cursor {
			t.Errorf("%s %+v", id, e)
		}
		cut()
		grade("G2")
		lines, cut = open("?from=now&type=grade", id)
		defer cut()
		grade("G3")
		for _, want := range []string{"grades/G2", "grades/G3"} {
			if _, e := next(lines); e.Subject != want {
				t.Errorf("went on with %s, want %s", e.Subject, want)
			}
		}
		s.service.Drain()
		for lines.Scan() {
		}
		if err := lines.Err(); err != nil && err != io.ErrUnexpectedEOF {
			t.Errorf("the stream ended with %v", err)
		}
	})
}
