package rest_test

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"reflect"
	"strings"
	"testing"
	"time"

	"github.com/getkin/kin-openapi/openapi3"
	"github.com/getkin/kin-openapi/openapi3filter"
	"github.com/getkin/kin-openapi/routers"
	"github.com/getkin/kin-openapi/routers/gorillamux"

	"barrelbook/api/app/port"
	"barrelbook/api/app/record"
	"barrelbook/api/embedded"
	"barrelbook/api/oapi"
	"barrelbook/api/rest"
	"barrelbook/api/store/filetest"
)

// shop is a service under test with a clock of its own and a token for each
// role. Every answer it gives is held against the contract.
type shop struct {
	t       testing.TB
	service *embedded.Service
	doc     *openapi3.T
	router  routers.Router
	now     time.Time
	tokens  map[port.Role]string
	log     *bytes.Buffer
}

var start = time.Date(2031, 3, 3, 6, 0, 0, 0, time.UTC)

// openFile opens a shop on a data file.
func openFile(t testing.TB) *shop {
	return open(t, filetest.Path(t), rest.Options{})
}

func open(t testing.TB, database string, edge rest.Options) *shop {
	t.Helper()
	s := &shop{t: t, now: start, tokens: map[port.Role]string{}, log: &bytes.Buffer{}}
	edge.Log = slog.New(slog.NewTextHandler(s.log, nil))
	var err error
	s.service, err = embedded.Open(context.Background(), embedded.Options{Path: database, Volatile: true, Now: func() time.Time { return s.now }, Version: "test", Tokens: true, Edge: edge})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = s.service.Close() })
	for _, role := range port.Roles() {
		_, secret, err := s.service.App().CreateToken(context.Background(), port.Call{Actor: "test", Role: port.Admin, Operation: "createToken"}, record.TokenInput{Name: string(role), Role: role})
		if err != nil {
			t.Fatal(err)
		}
		s.tokens[role] = secret
	}
	if s.doc, err = oapi.GetSpec(); err != nil {
		t.Fatal(err)
	}
	s.doc.Servers = nil
	if s.router, err = gorillamux.NewRouter(s.doc); err != nil {
		t.Fatal(err)
	}
	return s
}

// request makes a request as a role; an empty role sends no token.
func (s *shop) request(role port.Role, method, path, body string) *http.Request {
	r := httptest.NewRequest(method, path, strings.NewReader(body))
	if role != "" {
		r.Header.Set("Authorization", "Bearer "+s.tokens[role])
	}
	if body != "" {
		r.Header.Set("Content-Type", "application/json")
	}
	return r
}

// send answers a request and holds the answer against the contract.
func (s *shop) send(r *http.Request) *httptest.ResponseRecorder {
	s.t.Helper()
	w := httptest.NewRecorder()
	original := r.Clone(context.Background())
	s.service.Handler().ServeHTTP(w, r)
	if err := s.heldAgainstContract(original, w); err != nil {
		s.t.Errorf("%s %s: the answer is not by the contract: %v\n%d %s", r.Method, r.URL, err, w.Code, w.Body)
	}
	return w
}

func (s *shop) heldAgainstContract(r *http.Request, w *httptest.ResponseRecorder) error {
	if id := w.Header().Get("X-Request-Id"); id == "" {
		return fmt.Errorf("no request id")
	}
	if w.Code >= 400 {
		if err := s.problem(w); err != nil {
			return err
		}
	}
	route, params, err := s.router.FindRoute(r)
	if err != nil {
		return nil // outside the contract
	}
	media := w.Header().Get("Content-Type")
	return openapi3filter.ValidateResponse(context.Background(), &openapi3filter.ResponseValidationInput{
		RequestValidationInput: &openapi3filter.RequestValidationInput{Request: r, PathParams: params, Route: route},
		Status:                 w.Code, Header: w.Header(), Body: io.NopCloser(bytes.NewReader(w.Body.Bytes())),
		Options: &openapi3filter.Options{IncludeResponseStatus: true, MultiError: true, ExcludeResponseBody: media == "application/x-ndjson" || media == "" || strings.HasPrefix(media, "text/csv") || r.URL.Query().Has("fields")},
	})
}

// problem holds a refusal against the shape that every refusal has.
func (s *shop) problem(w *httptest.ResponseRecorder) error {
	if media := w.Header().Get("Content-Type"); media != "application/problem+json" {
		return fmt.Errorf("a refusal of media type %q", media)
	}
	var p oapi.Problem
	if err := json.Unmarshal(w.Body.Bytes(), &p); err != nil {
		return err
	}
	if int(p.Status) != w.Code || !strings.HasPrefix(p.Type, "/problems/") || p.Title == "" || p.Instance == nil || p.RequestId == nil || *p.RequestId != w.Header().Get("X-Request-Id") {
		return fmt.Errorf("a problem that is not whole: %s", w.Body)
	}
	return nil
}

// step is one row of a scenario.
type step struct {
	name    string
	as      port.Role
	do      string // "POST /v1/rolls"
	body    string
	headers map[string]string
	later   time.Duration // the clock moves on before it
	status  int
	want    string            // JSON that the answer must hold; "~x" stands for a text with x in it
	header  map[string]string // as want
	without []string          // must not be in the answer
}

// run takes the steps one after the other.
func (s *shop) run(steps []step) {
	s.t.Helper()
	for _, one := range steps {
		s.take(one)
	}
}

func (s *shop) take(one step) *httptest.ResponseRecorder {
	s.t.Helper()
	if one.later != 0 { // another request may be waiting, and reads the clock
		s.now = s.now.Add(one.later)
	}
	method, path, _ := strings.Cut(one.do, " ")
	r := s.request(one.as, method, path, one.body)
	for name, value := range one.headers {
		r.Header.Set(name, value)
	}
	w := s.send(r)
	fail := func(format string, args ...any) {
		s.t.Helper()
		s.t.Errorf("%s: %s\n%s %s\n%d %s", one.name, fmt.Sprintf(format, args...), one.do, shortened(one.body), w.Code, shortened(w.Body.String()))
	}
	if w.Code != one.status {
		fail("status %d, want %d", w.Code, one.status)
		return w
	}
	for name, value := range one.header {
		if why := holds(value, w.Header().Get(name)); why != "" {
			fail("header %s %s", name, why)
		}
	}
	for _, text := range one.without {
		if strings.Contains(w.Body.String(), text) {
			fail("the answer holds %q", text)
		}
	}
	if one.want != "" {
		var want, got any
		if err := json.Unmarshal([]byte(one.want), &want); err != nil {
			s.t.Fatalf("%s: the row's own JSON: %v", one.name, err)
		}
		if err := json.Unmarshal(w.Body.Bytes(), &got); err != nil {
			fail("no JSON: %v", err)
			return w
		}
		if why := holds(want, got); why != "" {
			fail("%s", why)
		}
	}
	return w
}

// holds says where got lacks something of want, "" when nothing.
func holds(want, got any) string {
	switch want := want.(type) {
	case map[string]any:
		members, ok := got.(map[string]any)
		if !ok {
			return fmt.Sprintf("is %v, want an object", got)
		}
		for name, w := range want {
			g, ok := members[name]
			if !ok {
				return name + " is missing"
			}
			if why := holds(w, g); why != "" {
				return name + "/" + why
			}
		}
		return ""
	case []any:
		items, ok := got.([]any)
		if !ok || len(items) != len(want) {
			return fmt.Sprintf("is %v, want %d items: %v", got, len(want), want)
		}
		for i := range want {
			if why := holds(want[i], items[i]); why != "" {
				return fmt.Sprintf("%d/%s", i, why)
			}
		}
		return ""
	case string:
		if part, ok := strings.CutPrefix(want, "~"); ok {
			if part == "" {
				return "" // it is there
			}
			if text, ok := got.(string); !ok || !strings.Contains(text, part) {
				return fmt.Sprintf("is %v, want a text with %q", got, part)
			}
			return ""
		}
	}
	if !reflect.DeepEqual(want, got) {
		return fmt.Sprintf("is %v, want %v", got, want)
	}
	return ""
}

func shortened(text string) string {
	if len(text) > 1500 {
		return text[:1500] + " …"
	}
	return text
}
