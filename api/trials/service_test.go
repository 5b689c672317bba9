package trials

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"os"
	"slices"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"barrelbook/api/embedded"
	"barrelbook/api/rest"
	"barrelbook/api/store/filetest"
	"barrelbook/api/store/pgtest"
	"barrelbook/domain/practice"
)

// both runs a test on a data file and on PostgreSQL.
func both(t *testing.T, test func(t *testing.T, database string)) {
	t.Run("file", func(t *testing.T) { test(t, filetest.Path(t)) })
	t.Run("postgresql", func(t *testing.T) { test(t, pgtest.DSN(t)) })
}

// site is a service behind a network address, in this process. Its only caller
// needs no token.
type site struct {
	t       testing.TB
	url     string
	service *embedded.Service
	log     *bytes.Buffer
	close   func()
}

// open serves a database; o may say more than the path.
func open(t testing.TB, o embedded.Options) *site {
	t.Helper()
	s := &site{t: t, log: &bytes.Buffer{}}
	o.Volatile, o.Version = true, "test"
	o.Edge.Log = slog.New(slog.NewTextHandler(s.log, nil))
	var err error
	if s.service, err = embedded.Open(context.Background(), o); err != nil {
		t.Fatal(err)
	}
	server := httptest.NewUnstartedServer(s.service.Handler())
	server.Config.ConnContext = rest.ConnContext
	server.Start()
	s.url = server.URL
	s.close = sync.OnceFunc(func() {
		server.CloseClientConnections()
		server.Close()
		_ = s.service.Close()
	})
	t.Cleanup(s.close)
	return s
}

func plain(path string) embedded.Options {
	return embedded.Options{Path: path, Edge: rest.Options{}}
}

// reply is an answer, or why there is none.
type reply struct {
	status int
	header http.Header
	body   []byte
	err    error
}

func (r reply) String() string {
	if r.err != nil {
		return r.err.Error()
	}
	return fmt.Sprintf("%d %.600s", r.status, r.body)
}

// field is a text or number of the answer's top level.
func (r reply) field(name string) any {
	var members map[string]any
	_ = json.Unmarshal(r.body, &members)
	return members[name]
}

// detail is that of a problem.
func (r reply) detail() string {
	text, _ := r.field("detail").(string)
	return text
}

var keys atomic.Int64

// newKey gives a key that no request of this process has had.
func newKey() string { return fmt.Sprintf("trial-%d-%d", os.Getpid(), keys.Add(1)) }

var client = &http.Client{Transport: &http.Transport{MaxIdleConnsPerHost: 64}, Timeout: 2 * time.Minute}

// send makes one request, once.
func send(base, method, path, key, body string, header ...string) reply {
	r, err := http.NewRequest(method, base+path, bytes.NewReader([]byte(body)))
	if err != nil {
		return reply{err: err}
	}
	if body != "" {
		r.Header.Set("Content-Type", "application/json")
		if path == "/v1/pieces" {
			r.Header.Set("Content-Type", "application/x-ndjson")
		}
	}
	if key != "" {
		r.Header.Set("Idempotency-Key", key)
	}
	for i := 0; i+1 < len(header); i += 2 {
		r.Header.Set(header[i], header[i+1])
	}
	w, err := client.Do(r)
	if err != nil {
		return reply{err: err}
	}
	defer w.Body.Close()
	text, err := io.ReadAll(w.Body)
	return reply{status: w.StatusCode, header: w.Header, body: text, err: err}
}

func (s *site) post(path, body string) reply { return send(s.url, "POST", path, newKey(), body) }

func (s *site) get(path string) reply { return send(s.url, "GET", path, "", "") }

// must records what has to be taken.
func (s *site) must(path, body string) reply {
	s.t.Helper()
	r := s.post(path, body)
	if r.err != nil || r.status/100 != 2 {
		s.t.Fatalf("POST %s %.300s: %s\n%s", path, body, r, s.log)
	}
	return r
}

// read gets what has to be there, as JSON.
func (s *site) read(path string) map[string]any {
	s.t.Helper()
	r := s.get(path)
	var members map[string]any
	if r.err != nil || r.status != 200 || json.Unmarshal(r.body, &members) != nil {
		s.t.Fatalf("GET %s: %s", path, r)
	}
	return members
}

// An invented hot mill with two stands, F1 and F2.

func (s *site) mill() {
	s.t.Helper()
	s.must("/v1/mills", `{"name":"hot","kind":"hot_strip","title":"Hot strip mill"}`)
	s.must("/v1/grades", `{"name":"HSS","family":"high_speed_steel"}`)
	for i, stand := range []string{"F1", "F2"} {
		s.must("/v1/stands", fmt.Sprintf(`{"name":%q,"mill":"hot","order":%d,"arrangement":"four_high"}`, stand, i+1))
	}
	s.must("/v1/practices", quick())
}

// quick is a practice under which rolls go in and out quickly: nothing is to cool
// down and no test is asked.
func quick() string {
	values := map[practice.Key]float64{practice.CoolingH: 0, practice.CampaignsBetweenGrind: 20, practice.PairToleranceUM: 5000}
	for _, k := range practice.Asks() {
		values[k] = 0
	}
	body, err := json.Marshal(map[string]any{"name": "quick", "scope": map[string]any{}, "values": values})
	if err != nil {
		panic(err)
	}
	return string(body)
}

// roll receives one roll at the moment given.
func (s *site) roll(number, role string, mm float64, at time.Time) {
	s.t.Helper()
	s.must("/v1/rolls", receipt(number, role, mm, at))
}

func receipt(number, role string, mm float64, at time.Time) string {
	scrap, neck := 640.0, 400.0
	if role == "backup" {
		scrap, neck = 1350, 800
	}
	return fmt.Sprintf(`{"number":%q,"role":%q,"grade":"HSS","mill":"hot","diameter_mm":%g,"barrel_length_mm":1780,"bearing_span_mm":2900,"neck_diameter_mm":%g,"scrap":{"nominal_mm":%g},"ground":true,"received_at":%q}`,
		number, role, mm, neck, scrap, at.Format(time.RFC3339Nano))
}

// set receives two rolls and pairs them, all at the moment given.
func (s *site) set(name, role string, mm float64, at time.Time) {
	s.t.Helper()
	s.roll(name+"T", role, mm, at)
	s.roll(name+"B", role, mm, at)
	s.must("/v1/sets", fmt.Sprintf(`{"name":%q,"top":%q,"bottom":%q,"at":%q}`, name, name+"T", name+"B", at.Format(time.RFC3339Nano)))
}

// change puts a set in; without a moment it is dated by the service.
func change(stand, role, set string, at time.Time) string {
	body := fmt.Sprintf(`{"stand":%q,"role":%q`, stand, role)
	if set != "" {
		body += fmt.Sprintf(`,"set_in":%q`, set)
	} else {
		body += `,"empty":true`
	}
	if !at.IsZero() {
		body += fmt.Sprintf(`,"at":%q`, at.Format(time.RFC3339Nano))
	}
	return body + "}"
}

// piece is one line of an import, rolled in the stands named.
func piece(id string, at time.Time, forceKN float64, stands ...string) string {
	passes, h := "", 30.0
	for i, stand := range stands {
		if h *= 0.7; i > 0 {
			passes += ","
		}
		passes += fmt.Sprintf(`{"stand":%q,"exit_thickness_mm":%.4g,"force_kn":%g,"speed_m_per_s":4}`, stand, h, forceKN)
	}
	return fmt.Sprintf(`{"source":"mes","id":%q,"mill":"hot","rolled_at":%q,"mass_t":20,"width_mm":1250,"entry_thickness_mm":30,"passes":[%s]}`+"\n",
		id, at.UTC().Format(time.RFC3339Nano), passes)
}

// sure ends the body of a regrind, and says that what it looks like is right: here
// rolls are ground again within a second and without having rolled.
const sure = `,"confirmed":["wear","nothing_rolled","again","stock","pair"]}`

func holdsAny(text string, parts ...string) bool {
	return slices.ContainsFunc(parts, func(part string) bool { return strings.Contains(text, part) })
}
