package board_test

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"net/http"
	"net/http/cookiejar"
	"net/http/httptest"
	"net/netip"
	"net/url"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"
	"time"

	"barrelbook/api/app/port"
	"barrelbook/api/app/record"
	"barrelbook/api/embedded"
	"barrelbook/testdata/demo"
)

// shop is a daemon's service with a demo mill loaded and the board in front.
type shop struct {
	t       testing.TB
	url     string
	ahead   demo.Ahead
	tokens  int
	service *embedded.Service
}

func open(t testing.TB, mill string, networks ...netip.Prefix) *shop {
	t.Helper()
	path := filepath.Join(t.TempDir(), "shop.db")
	local, err := embedded.Open(t.Context(), embedded.Options{Path: path, Volatile: true})
	if err != nil {
		t.Fatal(err)
	}
	s := &shop{t: t}
	s.ahead, err = demo.Load(t.Context(), func(_ context.Context, r demo.Request) (int, string, []byte, error) {
		req := httptest.NewRequest(r.Method, r.Path, bytes.NewReader(r.Body))
		if r.ContentType != "" {
			req.Header.Set("Content-Type", r.ContentType)
		}
		if r.IfMatch != "" {
			req.Header.Set("If-Match", r.IfMatch)
		}
		w := httptest.NewRecorder()
		local.Handler().ServeHTTP(w, req)
		return w.Code, w.Header().Get("ETag"), w.Body.Bytes(), nil
	}, demo.Options{Mill: mill, Now: time.Now()})
	if err != nil {
		t.Fatal(err)
	}
	if err := local.Close(); err != nil {
		t.Fatal(err)
	}
	if s.service, err = embedded.Open(t.Context(), embedded.Options{Path: path, Volatile: true, Tokens: true}); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = s.service.Close() })
	handler, err := s.service.Board(networks)
	if err != nil {
		t.Fatal(err)
	}
	server := httptest.NewServer(handler)
	t.Cleanup(server.Close)
	s.url = server.URL
	return s
}

func (s *shop) token(role port.Role) string {
	s.t.Helper()
	s.tokens++
	_, secret, err := s.service.App().CreateToken(s.t.Context(), port.Call{Actor: "test", Role: port.Admin, Operation: "createToken"},
		record.TokenInput{Name: fmt.Sprintf("tablet %d of a %s", s.tokens, role), Role: role, ExpiresAt: time.Now().Add(time.Hour)})
	if err != nil {
		s.t.Fatal(err)
	}
	return secret
}

// visitor is a browser without a screen.
type visitor struct {
	*shop
	http.Client
}

func (s *shop) visitor() *visitor {
	jar, _ := cookiejar.New(nil)
	return &visitor{s, http.Client{Jar: jar}}
}

// get opens a page and gives its status and text; it follows redirects.
func (v *visitor) get(path string) (int, string) {
	v.t.Helper()
	return v.read(v.Get(v.url + path))
}

func (v *visitor) read(w *http.Response, err error) (int, string) {
	v.t.Helper()
	if err != nil {
		v.t.Fatal(err)
	}
	defer w.Body.Close()
	text, _ := io.ReadAll(w.Body)
	return w.StatusCode, string(text)
}

var hidden = regexp.MustCompile(`name="(\w+)" value="([^"]*)"`)

// send fills in the form of a page and sends it.
func (v *visitor) send(page, to string, fields map[string]string) (int, string) {
	v.t.Helper()
	_, text := v.get(page)
	form := url.Values{}
	for _, m := range hidden.FindAllStringSubmatch(text[strings.Index(text, "<main"):], -1) {
		form.Set(m[1], strings.ReplaceAll(m[2], "&#34;", `"`))
	}
	for name, value := range fields {
		form.Set(name, value)
	}
	return v.read(v.PostForm(v.url+to, form))
}

func (v *visitor) signIn(token string) {
	v.t.Helper()
	if status, text := v.send("/board/sign-in", "/board/sign-in", map[string]string{"token": token}); status != http.StatusOK || strings.Contains(text, "was not taken") {
		v.t.Fatalf("signing in: %d %s", status, text)
	}
}

// figures are what the demo's next regrind measured, mm.
func (s *shop) figures() (found, ground string) {
	s.t.Helper()
	var want struct {
		Found  json.Number `json:"found_mm"`
		Ground json.Number `json:"ground_mm"`
	}
	if err := json.Unmarshal(s.ahead.Regrind, &want); err != nil {
		s.t.Fatal(err)
	}
	return want.Found.String(), want.Ground.String()
}

func stringBody(text string) io.Reader {
	if text == "" {
		return nil
	}
	return strings.NewReader(text)
}

func has(t *testing.T, page string, parts ...string) {
	t.Helper()
	for _, part := range parts {
		if !strings.Contains(page, part) {
			t.Errorf("%q is not on the page:\n%s", part, page)
		}
	}
}

// TestNobodyLooksWithoutAToken: every page leads to the sign-in, and back to
// what was asked for; the cookie is out of reach of scripts and other sites.
func TestNobodyLooksWithoutAToken(t *testing.T) {
	s := open(t, "temper")
	for _, page := range []string{"/", "/board/", "/board/mills/temper", "/board/mills/temper/grinding", "/board/mills/temper/programme", "/board/mills/temper/records", "/board/rolls/" + s.ahead.Roll, "/board/rolls/" + s.ahead.Roll + "/regrind"} {
		if _, text := s.visitor().get(page); !strings.Contains(text, `name="token"`) || strings.Contains(text, s.ahead.Roll+"</a>") {
			t.Errorf("%s shows\n%s", page, text)
		}
	}
	v := s.visitor()
	if status, text := v.send("/board/sign-in", "/board/sign-in", map[string]string{"token": "bb_wrong"}); status != http.StatusUnauthorized || !strings.Contains(text, "was not taken") {
		t.Errorf("a wrong token: %d %s", status, text)
	}
	for to, lead := range map[string]string{"/board/rolls/" + s.ahead.Roll: "/board/rolls/" + s.ahead.Roll, "//elsewhere.example/": "/board/", "https://elsewhere.example/board/": "/board/"} {
		v := s.visitor()
		v.CheckRedirect = func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }
		_, page := v.get("/board/sign-in?to=" + url.QueryEscape(to))
		proof := regexp.MustCompile(`name="proof" value="(\w+)"`).FindStringSubmatch(page)[1]
		w, err := v.PostForm(s.url+"/board/sign-in", url.Values{"proof": {proof}, "token": {s.token(port.Viewer)}, "to": {to}})
		if err != nil {
			t.Fatal(err)
		}
		_ = w.Body.Close()
		if cookie := w.Header.Get("Set-Cookie"); w.Header.Get("Location") != lead || !strings.Contains(cookie, "HttpOnly") || !strings.Contains(cookie, "SameSite=Strict") {
			t.Errorf("signed in towards %s: to %s with %s", to, w.Header.Get("Location"), cookie)
		}
	}
}

// TestAnOpenNetworkMayLookAndNothingElse.
func TestAnOpenNetworkMayLookAndNothingElse(t *testing.T) {
	s := open(t, "temper", netip.MustParsePrefix("127.0.0.0/8"))
	v := s.visitor()
	if status, text := v.get("/board/"); status != http.StatusOK || !strings.Contains(text, "Programme") {
		t.Errorf("the board: %d %s", status, text)
	}
	status, text := v.send("/board/rolls/"+s.ahead.Roll+"/regrind", "/board/rolls/"+s.ahead.Roll+"/regrind", map[string]string{"found_mm": "500", "ground_mm": "499"})
	if status != http.StatusForbidden {
		t.Errorf("recording without a token: %d %s", status, text)
	}
	if status, _ := v.get("/v1/works"); status != http.StatusUnauthorized {
		t.Errorf("the API without a token: %d", status)
	}
}

// TestPagesSayWhatTheServiceSays opens each page as an engineer.
func TestPagesSayWhatTheServiceSays(t *testing.T) {
	s := open(t, "cold-tandem")
	v := s.visitor()
	v.signIn(s.token(port.Engineer))
	_, wall := v.get("/")
	has(t, wall, "Programme", "<svg", "Held", "Tests owed", "Still warm", "planned change", "Within the limits entered", "grinder 1")
	mill := regexp.MustCompile(`/board/mills/([\w-]+)/programme`).FindStringSubmatch(wall)[1]
	for page, parts := range map[string][]string{
		"/grinding":  {"take off, mm", s.ahead.Roll},
		"/programme": {"by the last piece", "limit", "sure", "the nearest limits, piece by piece", "Plan", "<polygon"},
		"/records":   {"Wear rate of work rolls", "Rolls by what is left to scrap", "Consumption"},
	} {
		status, text := v.get("/board/mills/" + mill + page)
		if status != http.StatusOK {
			t.Errorf("%s: %d", page, status)
		}
		has(t, text, parts...)
	}
	reading, _ := http.NewRequest("POST", s.url+"/v1/rolls/"+s.ahead.Roll+"/inspections", strings.NewReader(`{"tests":[{"test":"eddy_current","readings":[{"at_mm":812,"around_deg":40,"value":2.4,"threshold":2}]}]}`))
	reading.Header.Set("Content-Type", "application/json")
	reading.Header.Set("Authorization", "Bearer "+s.token(port.Grinder))
	if status, text := v.read(http.DefaultClient.Do(reading)); status != http.StatusCreated {
		t.Fatalf("a reading: %d %s", status, text)
	}
	_, roll := v.get("/board/rolls/" + s.ahead.Roll)
	has(t, roll, "look at", "eddy current crack at 812 mm, 40°: 2.4 of 2 allowed", "the barrel laid flat", "Diameter from grind to grind", "scrap", "Book", "record a regrind")
	if _, found := v.get("/board/find?roll=" + strings.ToLower(s.ahead.Roll)); !strings.Contains(found, "Roll "+s.ahead.Roll) {
		t.Error("the roll is not found by its number in small letters")
	}
	for _, unknown := range []string{"/board/find?roll=NO-999", "/board/rolls/NO-999", "/board/mills/nowhere", "/board/nothing"} {
		if status, text := v.get(unknown); status != http.StatusNotFound || !strings.Contains(text, "There is no") {
			t.Errorf("%s: %d %s", unknown, status, text)
		}
	}
}

// TestTheFormAsks: a figure that looks like a slip is asked about with a box to
// tick, which answers for that figure and for no other.
func TestTheFormAsks(t *testing.T) {
	s := open(t, "cold-tandem")
	v := s.visitor()
	v.signIn(s.token(port.Grinder))
	path := "/board/rolls/" + s.ahead.Roll + "/regrind"
	found, ground := s.figures()
	less := func(mm float64) string {
		g, err := strconv.ParseFloat(ground, 64)
		if err != nil {
			t.Fatal(err)
		}
		return strconv.FormatFloat(g-mm, 'f', 3, 64)
	}
	slip, other := less(1), less(3)
	asks := func(figures map[string]string) {
		t.Helper()
		status, text := v.send(path, path, figures)
		if status != http.StatusUnprocessableEntity {
			t.Fatalf("%v: %d %s", figures, status, text)
		}
		has(t, text, `type="checkbox" name="confirmed" value="stock"`, "nothing was recorded", "The stock, found "+found+" mm less ground "+figures["ground_mm"]+" mm")
	}
	asks(map[string]string{"found_mm": found, "ground_mm": slip})
	asks(map[string]string{"found_mm": found, "ground_mm": other, "asked_found_mm": found, "asked_ground_mm": slip, "confirmed": "stock"})
	status, text := v.send(path, path, map[string]string{"found_mm": found, "ground_mm": slip, "asked_found_mm": found, "asked_ground_mm": slip, "confirmed": "stock"})
	if status != http.StatusCreated {
		t.Errorf("ticked: %d %s", status, text)
	}
}

// TestARegrindByTheForm: recorded once however often it is sent, refused with
// the service's reasons beside the fields, refused to a viewer and from another
// site, and refused to the second of two tablets.
func TestARegrindByTheForm(t *testing.T) {
	s := open(t, "cold-tandem")
	path := "/board/rolls/" + s.ahead.Roll + "/regrind"
	found, ground := s.figures()
	figures := map[string]string{"found_mm": found, "ground_mm": strings.ReplaceAll(ground, ".", ","), "test_visual": "passed"}

	viewer := s.visitor()
	viewer.signIn(s.token(port.Viewer))
	if status, text := viewer.send(path, path, figures); status != http.StatusForbidden || !strings.Contains(text, "grinder") {
		t.Errorf("by a viewer: %d %s", status, text)
	}
	first, second := s.visitor(), s.visitor()
	token := s.token(port.Grinder)
	first.signIn(token)
	second.signIn(token)
	if status, text := first.send(path, path, map[string]string{"found_mm": "about 500", "ground_mm": ""}); status != http.StatusUnprocessableEntity || !strings.Contains(text, "is not a number") || !strings.Contains(text, "is needed") || !strings.Contains(text, `aria-invalid="true"`) {
		t.Errorf("no numbers: %d %s", status, text)
	}
	if status, text := first.send(path, path, map[string]string{"found_mm": ground, "ground_mm": found}); status < 400 || !strings.Contains(text, "Nothing was recorded") && !strings.Contains(text, `role="alert"`) {
		t.Errorf("ground above found: %d %s", status, text)
	}

	// Two tablets open the form; the first records, twice by the same form.
	form := map[string]url.Values{}
	for name, v := range map[string]*visitor{"first": first, "second": second} {
		_, text := v.get(path)
		form[name] = url.Values{}
		for _, m := range hidden.FindAllStringSubmatch(text[strings.Index(text, "<main"):], -1) {
			form[name].Set(m[1], strings.ReplaceAll(m[2], "&#34;", `"`))
		}
		for field, value := range figures {
			form[name].Set(field, value)
		}
	}
	for range 2 {
		if status, text := first.read(first.PostForm(s.url+path, form["first"])); status != http.StatusCreated || !strings.Contains(text, "Recorded as entry") {
			t.Fatalf("recording: %d %s", status, text)
		}
	}
	if status, text := second.read(second.PostForm(s.url+path, form["second"])); status != http.StatusPreconditionFailed || !strings.Contains(text, "nothing was recorded now") {
		t.Errorf("the second tablet: %d %s", status, text)
	}
	_, page := first.get("/board/rolls/" + s.ahead.Roll)
	if n := strings.Count(page, "to "+ground); n > 1 {
		t.Errorf("it is in the book %d times", n)
	}

	forged := form["first"]
	forged.Set("proof", "0")
	if status, _ := first.read(first.PostForm(s.url+path, forged)); status != http.StatusForbidden {
		t.Errorf("a form without its proof: %d", status)
	}
	forged.Set("proof", form["second"].Get("proof"))
	r, _ := http.NewRequest("POST", s.url+path, strings.NewReader(forged.Encode()))
	r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	r.Header.Set("Origin", "https://elsewhere.example")
	if status, _ := first.read(first.Do(r)); status != http.StatusForbidden {
		t.Errorf("a form of another site: %d", status)
	}
}

// TestPagesKeepToThemselves: nothing is loaded from elsewhere, no page is framed,
// and one that has not changed is not sent again.
func TestPagesKeepToThemselves(t *testing.T) {
	s := open(t, "temper")
	v := s.visitor()
	v.signIn(s.token(port.Viewer))
	_, front := v.get("/")
	mill := regexp.MustCompile(`/board/mills/([\w-]+)/programme`).FindStringSubmatch(front)[1]
	w, err := v.Get(s.url + "/board/mills/" + mill)
	if err != nil {
		t.Fatal(err)
	}
	page, _ := io.ReadAll(w.Body)
	_ = w.Body.Close()
	if csp := w.Header.Get("Content-Security-Policy"); !strings.Contains(csp, "default-src 'none'") || !strings.Contains(csp, "frame-ancestors 'none'") {
		t.Errorf("policy %q", csp)
	}
	for _, m := range regexp.MustCompile(`(?:src|href|action)="([^"]*)"`).FindAllStringSubmatch(string(page), -1) {
		if !strings.HasPrefix(m[1], "/board/") && m[1] != "data:," {
			t.Errorf("the page names %s", m[1])
		}
	}
	again, _ := http.NewRequest("GET", s.url+"/board/mills/"+mill, nil)
	again.Header.Set("If-None-Match", w.Header.Get("ETag"))
	if status, text := v.read(v.Do(again)); status != http.StatusNotModified || text != "" {
		t.Errorf("asked for again: %d, %d bytes", status, len(text))
	}
	if bytes.Contains(page, []byte("style=")) {
		t.Error("a style stands in the page; the policy forbids it")
	}
}
