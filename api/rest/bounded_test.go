package rest_test

import (
	"context"
	"encoding/json"
	"fmt"
	"io"
	"net/http"
	"net/http/httptest"
	"runtime"
	"runtime/debug"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"barrelbook/api/app/port"
	"barrelbook/api/rest"
)

// hardPlan is a change plan of many pieces and stands whose proof takes minutes.
func hardPlan(pieces, stands int) string {
	type stand struct {
		Name   string  `json:"name"`
		Limit  int64   `json:"limit"`
		Change float64 `json:"change_cost"`
		Unused float64 `json:"unused_cost_per_unit"`
		Usage  []int64 `json:"usage"`
	}
	plan := struct {
		Pieces  int     `json:"pieces"`
		Stop    float64 `json:"stop_cost"`
		Planned float64 `json:"planned_stop_cost"`
		Stops   []int   `json:"planned_stops"`
		Stands  []stand `json:"stands"`
	}{Pieces: pieces, Stop: 17, Planned: 3}
	for j := 1; j < pieces; j += 9 {
		plan.Stops = append(plan.Stops, j)
	}
	for s := range stands {
		one := stand{Name: fmt.Sprint(s), Limit: int64(6000 + 613*s), Change: float64(3 + s), Unused: 0.01}
		for j := range pieces {
			one.Usage = append(one.Usage, int64(100+(j*7919+s*104729)%97))
		}
		plan.Stands = append(plan.Stands, one)
	}
	text, _ := json.Marshal(plan)
	return string(text)
}

// TestCalculationsEndInTime: a request that has run out of its time, or whose
// caller has left, does not go on. The bound is generous, for a loaded machine;
// without it this works for a minute.
func TestCalculationsEndInTime(t *testing.T) {
	s := open(t, t.TempDir()+"/shop.db", rest.Options{Timeout: 300 * time.Millisecond})
	body := hardPlan(1000, 7)
	begun := time.Now()
	s.take(step{name: "out of time", as: port.Viewer, do: "POST /v1/calculations/change-plan", body: body, status: 503,
		want: `{"type":"/problems/took-too-long"}`, header: map[string]string{"Retry-After": "5"}})
	if took := time.Since(begun); took > 10*time.Second {
		t.Errorf("the answer came after %v", took)
	}
	s = open(t, t.TempDir()+"/shop.db", rest.Options{})
	ctx, leave := context.WithCancel(context.Background())
	time.AfterFunc(300*time.Millisecond, leave)
	begun = time.Now()
	w := httptest.NewRecorder()
	s.service.Handler().ServeHTTP(w, s.request(port.Viewer, "POST", "/v1/calculations/change-plan", body).WithContext(ctx))
	if took := time.Since(begun); took > 10*time.Second || w.Body.Len() > 0 {
		t.Errorf("the work for a caller who left took %v and answered %s", took, w.Body)
	}
}

// endless is a body of one list that never ends, and counts what is read of it.
type endless struct {
	head, item string
	rest       string
	read       int
}

func (e *endless) Read(into []byte) (int, error) {
	if e.rest == "" {
		e.rest = e.item
		if e.read == 0 {
			e.rest = e.head
		}
	}
	n := copy(into, e.rest)
	e.rest = e.rest[n:]
	e.read += n
	return n, nil
}

// TestListsAreBoundedWhileRead: of a list that has too many items, or items that
// are none, no more is read than needed to know.
func TestListsAreBoundedWhileRead(t *testing.T) {
	s := openFile(t)
	for _, c := range []struct {
		path, head, item, pointer, detail string
		most                              int
	}{
		{"weibull", `{"observations":[{"value":1,"failed":true}`, `,{"value":1,"failed":true}`, "#/observations", "200000 items", 7 << 20},
		{"weibull", `{"observations":[{}`, `,{}`, "#/observations/0/value", "is missing", 1 << 20},
		{"weibull", `{"observations":[[]`, `,[]`, "#/observations/0", "must be an object", 1 << 20},
		{"change-plan", `{"pieces":1,"stop_cost":1,"stands":[{"name":"a","limit":1,"usage":[1`, `,1`, "#/stands/0/usage", "5000 items", 1 << 20},
		{"contact", `{"a":1`, `,"b":1`, "#/b", "twice", 1 << 20},
	} {
		body := &endless{head: c.head, item: strings.Repeat(c.item, 100)}
		r := httptest.NewRequest("POST", "/v1/calculations/"+c.path, body)
		r.Header.Set("Authorization", "Bearer "+s.tokens[port.Viewer])
		r.Header.Set("Content-Type", "application/json")
		w := httptest.NewRecorder()
		s.service.Handler().ServeHTTP(w, r)
		if w.Code != http.StatusBadRequest || !strings.Contains(w.Body.String(), c.pointer) || !strings.Contains(w.Body.String(), c.detail) {
			t.Errorf("%s: %d %s, want %s %s", c.path, w.Code, shortened(w.Body.String()), c.pointer, c.detail)
		}
		if body.read > c.most {
			t.Errorf("%s: %d bytes were read before it was refused, want at most %d", c.path, body.read, c.most)
		}
	}
}

// TestLargeBodyTakesItsSize sends a Weibull body of 18 MB and wants the service to
// hold no more than some times its size at once; as a tree of values it was 564 MB.
func TestLargeBodyTakesItsSize(t *testing.T) {
	s := openFile(t)
	var text strings.Builder
	text.WriteString(`{"observations":[`)
	for i := range 190_000 {
		if i > 0 {
			text.WriteByte(',')
		}
		fmt.Fprintf(&text, `{"value":          1%05d.123456789012345,    "failed":                 %t         }`, i*7919%99991, i%3 > 0)
	}
	text.WriteString(`]}`)
	body := text.String()
	text.Reset()
	defer debug.SetGCPercent(debug.SetGCPercent(10))
	runtime.GC()
	var before runtime.MemStats
	runtime.ReadMemStats(&before)
	var most atomic.Uint64
	done := make(chan bool)
	go func() {
		var now runtime.MemStats
		for {
			select {
			case <-done:
				return
			case <-time.After(2 * time.Millisecond):
				runtime.ReadMemStats(&now)
				most.Store(max(most.Load(), now.HeapAlloc))
			}
		}
	}()
	s.take(step{name: "18 MB", as: port.Viewer, do: "POST /v1/calculations/weibull", body: body, status: 200, want: `{"survival":[]}`})
	close(done)
	held := int64(most.Load()) - int64(before.HeapAlloc)
	t.Logf("a body of %.1f MB took %.1f MB", float64(len(body))/1e6, float64(held)/1e6)
	if held > 8*int64(len(body)) {
		t.Errorf("a body of %d bytes made the service hold %d", len(body), held)
	}
}

// TestPlacesAreShared fills the one place there is, and wants those who come after
// to wait for it, or to be told when to come again.
func TestPlacesAreShared(t *testing.T) {
	s := open(t, t.TempDir()+"/shop.db", rest.Options{Places: 1, Timeout: 2 * time.Second})
	hard := hardPlan(1000, 7)
	quick := `{"diameter_mm":700,"conductivity_w_per_mk":30,"density_kg_per_m3":7600,"specific_heat_j_per_kgk":500,"surface_coefficient_w_per_m2k":20,"expansion_per_k":12e-6,"start_c":60,"ambient_c":20,"minutes":[0]}`
	codes := map[int]int{}
	var mu sync.Mutex
	var all sync.WaitGroup
	send := func(as port.Role, path, body string, n int) {
		for range n {
			all.Go(func() {
				w := httptest.NewRecorder()
				s.service.Handler().ServeHTTP(w, s.request(as, "POST", "/v1/calculations/"+path, body))
				mu.Lock()
				defer mu.Unlock()
				codes[w.Code]++
				if w.Code != 200 && w.Header().Get("Retry-After") == "" {
					t.Errorf("%d without Retry-After: %s", w.Code, w.Body)
				}
				if w.Code == 503 && !strings.Contains(w.Body.String(), "busy") && !strings.Contains(w.Body.String(), "took-too-long") {
					t.Errorf("503 without a reason: %s", w.Body)
				}
			})
		}
	}
	send(port.Viewer, "change-plan", hard, 1)
	time.Sleep(100 * time.Millisecond)
	send(port.Viewer, "cooling", quick, 30)
	all.Wait()
	if codes[429] == 0 {
		t.Errorf("answers %v: one caller may have the whole queue", codes)
	}
	clear(codes)
	send(port.Viewer, "cooling", quick, 5)
	send(port.Shift, "cooling", quick, 5)
	all.Wait()
	if codes[200] != 10 {
		t.Errorf("answers %v, want all ten to have had their turn", codes)
	}
	// What is not heavy does not wait behind what is.
	send(port.Viewer, "change-plan", hard, 1)
	time.Sleep(50 * time.Millisecond)
	s.take(step{name: "light", as: port.Viewer, do: "GET /v1/works", status: 200})
	all.Wait()
}

// TestTablesReadAsTrees: what is bound from a long list is what was sent, numbers in
// any writing.
func TestTablesReadAsTrees(t *testing.T) {
	s := openFile(t)
	for _, body := range []string{
		`{"pieces":6.0,"stop_cost":5,"stands":[{"name":"F1","limit":1e1,"change_cost":1,"usage":[2,2.0,2e0,20e-1,2,2]}]}`,
		`{"stands":[{"usage":[ 2 , 2,2,2,2,2 ],"change_cost":1,"limit":10,"name":"F1"}],"stop_cost":5.00,"pieces":6}`,
	} {
		s.take(step{name: body, as: port.Viewer, do: "POST /v1/calculations/change-plan", body: body, status: 200, want: `{"cost":6,"stops":[{"before_piece":5,"stands":["F1"]}]}`})
	}
	s.take(step{name: "no item", as: port.Viewer, do: "POST /v1/calculations/weibull", body: `{"observations":[]}`, status: 400, want: `{"errors":[{"pointer":"#/observations","detail":"must have at least 1 items"}]}`})
	s.take(step{name: "bad items", as: port.Viewer, do: "POST /v1/calculations/weibull", body: `{"observations":[{"value":1,"failed":true},{"value":"1","failed":true,"Value":2}]}`, status: 400,
		want: `{"errors":[{"pointer":"#/observations/1/Value"},{"pointer":"#/observations/1/value"}]}`})
	s.take(step{name: "no UTF-8", as: port.Viewer, do: "POST /v1/calculations/weibull", body: "{\"observations\":\"\xc3\x28\"}", status: 400, want: `{"detail":"the body is not UTF-8 text"}`})
	s.take(step{name: "half a character", as: port.Viewer, do: "POST /v1/calculations/weibull", body: `{"observations":[{"value":1,"failed":true}]}` + "\xc3", status: 400})
	for _, cut := range []int{1, 2, 3, 5} { // characters that fall on the ends of reads
		body := `{"name":"` + strings.Repeat("µ鋼🙂", 4) + `"}`
		r := s.request(port.Engineer, "POST", "/v1/mills?dry_run=true", body)
		r.Body = io.NopCloser(&inSteps{strings.NewReader(body), cut})
		w := httptest.NewRecorder()
		s.service.Handler().ServeHTTP(w, r)
		if w.Code != 400 || strings.Contains(w.Body.String(), "UTF-8") {
			t.Errorf("in steps of %d: %d %s", cut, w.Code, w.Body)
		}
	}
}

// inSteps reads so many bytes at a time.
type inSteps struct {
	from io.Reader
	n    int
}

func (s *inSteps) Read(into []byte) (int, error) { return s.from.Read(into[:min(len(into), s.n)]) }
