package rest_test

import (
	"bytes"
	"context"
	"crypto/sha256"
	"database/sql"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"io"
	"net/http"
	"net/http/httptest"
	"path/filepath"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"

	"barrelbook/api/app/port"
	"barrelbook/api/rest"
	"barrelbook/api/store"
	"barrelbook/api/store/pgtest"
)

// These benchmarks go over a real connection on the loopback address, on both
// databases. The baseline "bare" is a plain net/http server that runs the
// statements the service runs, over database/sql with the same drivers, and does
// nothing else: no contract, no decision, no hash. Data files do not sync here
// and neither does the throwaway PostgreSQL.

// network is a shop behind a listener, with its database once more for the
// baseline.
type network struct {
	*shop
	b      *testing.B
	url    string
	raw    *sql.DB
	dsn    string
	driver string
	bare   string // the baseline's address
	keys   int    // sent so far
}

func overNetwork(b *testing.B, bench func(b *testing.B, n *network)) {
	file := filepath.Join(b.TempDir(), "shop.db")
	for _, one := range []struct {
		name, driver string
		place        func(b *testing.B) (database, dsn string)
	}{
		{"sqlite", store.SQLiteDriver, func(*testing.B) (string, string) {
			return file, "file:" + file + "?_pragma=busy_timeout(10000)&_pragma=synchronous(OFF)&_txlock=immediate"
		}},
		{"postgres", "pgx", func(b *testing.B) (string, string) { dsn := pgtest.DSN(b); return dsn, dsn }},
	} {
		b.Run(one.name, func(b *testing.B) {
			database, dsn := one.place(b)
			n := &network{shop: open(b, database, rest.Options{}), b: b, dsn: dsn, driver: one.driver}
			server := httptest.NewServer(n.service.Handler())
			b.Cleanup(server.Close)
			n.url = server.URL
			var err error
			if n.raw, err = sql.Open(one.driver, dsn); err != nil {
				b.Fatal(err)
			}
			b.Cleanup(func() { _ = n.raw.Close() })
			conns := map[string]int{"pgx": 16, store.SQLiteDriver: 4}[one.driver] // as many as the service has
			n.raw.SetMaxOpenConns(conns)
			n.raw.SetMaxIdleConns(conns)
			mux := http.NewServeMux()
			mux.HandleFunc("GET /v1/rolls/{roll}", n.bareRead)
			mux.HandleFunc("POST /v1/rolls/{roll}/regrinds", n.bareRegrind)
			bare := httptest.NewServer(mux)
			b.Cleanup(bare.Close)
			n.bare = bare.URL
			bench(b, n)
		})
	}
}

func (n *network) call(method, url, contentType string, body io.Reader, status int) []byte {
	n.b.Helper()
	r, err := http.NewRequest(method, url, body)
	if err != nil {
		n.b.Fatal(err)
	}
	r.Header.Set("Authorization", "Bearer "+n.tokens[port.Admin])
	if method == http.MethodPost {
		n.keys++
		r.Header.Set("Idempotency-Key", fmt.Sprintf("benchmark-%d", n.keys))
	}
	if contentType != "" {
		r.Header.Set("Content-Type", contentType)
	}
	resp, err := http.DefaultClient.Do(r)
	if err != nil {
		n.b.Fatal(err)
	}
	defer resp.Body.Close()
	answer, err := io.ReadAll(resp.Body)
	if err != nil || resp.StatusCode != status {
		n.b.Fatalf("%s %s: %d %s %v", method, url, resp.StatusCode, answer, err)
	}
	return answer
}

// receive opens a book and lengthens it to a number of entries.
func (n *network) receive(number string, entries int) {
	n.b.Helper()
	n.take(step{name: "receive", as: port.Grinder, do: "POST /v1/rolls", body: receipt(number, "work", 700, n.now, true), status: 201})
	for i := 1; i < entries; i++ {
		r := n.request(port.Grinder, "POST", "/v1/rolls/"+number+"/inspections", `{"tests":[{"test":"visual","outcome":"passed"}]}`)
		w := httptest.NewRecorder()
		if n.service.Handler().ServeHTTP(w, r); w.Code != 201 {
			n.b.Fatalf("inspection %d: %d %s", i, w.Code, w.Body)
		}
	}
}

// BenchmarkNetworkReadRoll reads one roll with a short book and a long one.
func BenchmarkNetworkReadRoll(b *testing.B) {
	overNetwork(b, func(b *testing.B, n *network) {
		n.works()
		for _, entries := range []int{100, 10_000} {
			number := fmt.Sprint("W", entries)
			n.receive(number, entries)
			b.Run(fmt.Sprintf("entries=%d", entries), func(b *testing.B) {
				for b.Loop() {
					n.call("GET", n.url+"/v1/rolls/"+number, "", nil, 200)
				}
			})
		}
		b.Run("bare", func(b *testing.B) {
			for b.Loop() {
				n.call("GET", n.bare+"/v1/rolls/W100", "", nil, 200)
			}
		})
	})
}

// BenchmarkNetworkRegrind records one regrind into a book of 100 entries, which
// grows as it goes, and of 10 000.
func BenchmarkNetworkRegrind(b *testing.B) {
	overNetwork(b, func(b *testing.B, n *network) {
		n.works()
		for _, entries := range []int{100, 10_000} {
			number := fmt.Sprint("W", entries)
			n.receive(number, entries)
			um := 700_000
			b.Run(fmt.Sprintf("entries=%d", entries), func(b *testing.B) {
				for b.Loop() {
					um -= 2
					n.call("POST", n.url+"/v1/rolls/"+number+"/regrinds", "application/json", grind(um), 201)
				}
			})
		}
		b.Run("bare", func(b *testing.B) {
			um := 600_000
			n.receive("bare", 100)
			for b.Loop() {
				um -= 2
				n.call("POST", n.bare+"/v1/rolls/bare/regrinds", "application/json", grind(um), 201)
			}
		})
	})
}

func grind(um int) io.Reader {
	return bytes.NewBufferString(fmt.Sprintf(`{"found_mm":%.3f,"ground_mm":%.3f,"purpose":"wear"}`, float64(um+1)/1000, float64(um)/1000))
}

// query runs a statement and counts its rows.
func query(ctx context.Context, q interface {
	QueryContext(context.Context, string, ...any) (*sql.Rows, error)
}, statement string, args ...any) ([][]any, error) {
	rows, err := q.QueryContext(ctx, statement, args...)
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	columns, err := rows.Columns()
	if err != nil {
		return nil, err
	}
	var all [][]any
	for rows.Next() {
		row, into := make([]any, len(columns)), make([]any, len(columns))
		for i := range row {
			into[i] = &row[i]
		}
		if err := rows.Scan(into...); err != nil {
			return nil, err
		}
		all = append(all, row)
	}
	return all, rows.Err()
}

const (
	bareToken     = "SELECT * FROM tokens WHERE hash = $1 LIMIT 1"
	bareRoll      = "SELECT number, version, hash, state, totals FROM roll_states WHERE number = $1 LIMIT 1"
	barePractices = "SELECT * FROM practices WHERE NOT EXISTS (SELECT 1 FROM practices AS later WHERE later.name = practices.name AND later.version > practices.version) ORDER BY name LIMIT 501"
	bareDamage    = "SELECT * FROM roll_damage WHERE roll IN ($1) ORDER BY roll"
	bareMountings = "SELECT * FROM mountings WHERE roll = $1 ORDER BY mounted_at DESC, id DESC LIMIT 21"
)

func tokenHash(r *http.Request) string {
	sum := sha256.Sum256([]byte(r.Header.Get("Authorization")))
	return hex.EncodeToString(sum[:])
}

func (n *network) bareRead(w http.ResponseWriter, r *http.Request) {
	err := func() error {
		if _, err := query(r.Context(), n.raw, bareToken, tokenHash(r)); err != nil {
			return err
		}
		tx, err := n.raw.BeginTx(r.Context(), &sql.TxOptions{})
		if err != nil {
			return err
		}
		defer func() { _ = tx.Rollback() }()
		rolls, err := query(r.Context(), tx, bareRoll, r.PathValue("roll"))
		if err != nil {
			return err
		}
		for _, statement := range []string{barePractices, bareDamage} {
			args := []any{r.PathValue("roll")}
			if statement == barePractices {
				args = nil
			}
			if _, err := query(r.Context(), tx, statement, args...); err != nil {
				return err
			}
		}
		if err := tx.Commit(); err != nil {
			return err
		}
		w.Header().Set("Content-Type", "application/json")
		return json.NewEncoder(w).Encode(map[string]any{"state": json.RawMessage(fmt.Sprint(rolls[0][3])), "totals": json.RawMessage(fmt.Sprint(rolls[0][4]))})
	}()
	if err != nil {
		http.Error(w, err.Error(), http.StatusInternalServerError)
	}
}

func (n *network) bareRegrind(w http.ResponseWriter, r *http.Request) {
	ctx, roll := r.Context(), r.PathValue("roll")
	err := func() error {
		body, err := io.ReadAll(r.Body)
		if err != nil {
			return err
		}
		if _, err := query(ctx, n.raw, bareToken, tokenHash(r)); err != nil {
			return err
		}
		tx, err := n.raw.BeginTx(ctx, nil)
		if err != nil {
			return err
		}
		defer func() { _ = tx.Rollback() }()
		var row []any
		for _, q := range []struct {
			statement string
			args      []any
		}{
			{"SELECT * FROM answers WHERE actor = 'a' AND operation = 'recordRegrind' AND request_key = $1 LIMIT 1", []any{r.Header.Get("Idempotency-Key")}},
			{"SELECT number FROM roll_states WHERE number IN ($1) ORDER BY number", []any{roll}},
			{bareRoll, []any{roll}}, {barePractices, nil}, {bareMountings, []any{roll}}, {bareDamage, []any{roll}},
			{"SELECT * FROM grades WHERE name = $1 LIMIT 1", []any{"HSS"}}, {bareMountings, []any{roll}},
		} {
			rows, err := query(ctx, tx, q.statement, q.args...)
			if err != nil {
				return err
			}
			if q.statement == bareRoll {
				row = rows[0]
			}
		}
		number, hash := row[1].(int64)+1, tokenHash(r)
		for _, q := range []struct {
			statement string
			args      []any
		}{
			{"UPDATE roll_states SET version = $1, hash = $2, state = $3 WHERE number = $4", []any{number, hash, row[3], roll}},
			{"INSERT INTO entries (roll, number, kind, happened_at, recorded_at, recorded_by, reason, body, hash) VALUES ($1, $2, 'reground', 1, 1, 'a', '', $3, $4)", []any{roll, number, string(body), hash}},
			{"INSERT INTO grinds (roll, entry, happened_at, recorded_at, since_at, last_ground_um, found_um, ground_um, purpose) VALUES ($1, $2, 1, 1, 1, 700000, 700000, 700000, 'wear')", []any{roll, number}},
			{"INSERT INTO answers (actor, operation, request_key, fingerprint, answer, answered_at) VALUES ('a', 'recordRegrind', $1, $2, $3, 1)", []any{r.Header.Get("Idempotency-Key"), hash, []byte(fmt.Sprint(row[3]))}},
			{"INSERT INTO audit (happened_at, actor, what, request_id) VALUES (1, 'a', $1, $2)", []any{"recorded a regrind of roll " + roll, hash}},
		} {
			if _, err := tx.ExecContext(ctx, q.statement, q.args...); err != nil {
				return err
			}
		}
		if err := tx.Commit(); err != nil {
			return err
		}
		w.Header().Set("Content-Type", "application/json")
		w.WriteHeader(http.StatusCreated)
		return json.NewEncoder(w).Encode(map[string]any{"entry": number, "state": json.RawMessage(fmt.Sprint(row[3]))})
	}()
	if err != nil {
		http.Error(w, err.Error(), http.StatusInternalServerError)
	}
}

// BenchmarkNetworkIngest sends pieces of two passes, 2 000 a request, into a mill
// with its rolls in. "bare COPY" puts the rows that were stored into a table like
// theirs, 2 000 a time: no rolls, no models, no keys looked up.
func BenchmarkNetworkIngest(b *testing.B) {
	const many = 2000
	overNetwork(b, func(b *testing.B, n *network) {
		n.rolling()
		begin := n.now
		n.now = n.now.AddDate(0, 6, 0)
		sent := 0
		b.Run("service", func(b *testing.B) {
			for b.Loop() {
				var lines bytes.Buffer
				for range many {
					sent++
					fmt.Fprintln(&lines, piece(fmt.Sprint("C", sent), begin.Add(time.Duration(sent)*time.Second)))
				}
				answer := n.call("POST", n.url+"/v1/pieces", "application/x-ndjson", &lines, 200)
				if !bytes.Contains(answer, fmt.Appendf(nil, `"stored_count":%d`, many)) {
					b.Fatalf("%s", answer[max(0, len(answer)-300):])
				}
			}
			b.ReportMetric(many*float64(b.N)/b.Elapsed().Seconds(), "pieces/s")
		})
		if n.driver == "pgx" {
			b.Run("bare COPY", func(b *testing.B) { n.copy(b, many) })
		}
	})
}

func (n *network) copy(b *testing.B, many int) {
	conn, err := pgx.Connect(b.Context(), n.dsn)
	if err != nil {
		b.Fatal(err)
	}
	defer conn.Close(context.Background())
	if _, err := conn.Exec(b.Context(), "CREATE TABLE IF NOT EXISTS copied (LIKE pieces INCLUDING ALL)"); err != nil {
		b.Fatal(err)
	}
	stored, err := query(b.Context(), n.raw, "SELECT source, id, mill, rolled_at, doc FROM pieces LIMIT $1", many)
	if err != nil || len(stored) != many {
		b.Fatalf("%d rows, %v", len(stored), err)
	}
	round := time.Now().UnixNano()
	for b.Loop() {
		round++
		for i := range stored {
			stored[i][1] = fmt.Sprintf("C%d-%d", round, i)
		}
		if _, err := conn.CopyFrom(b.Context(), pgx.Identifier{"copied"}, []string{"source", "id", "mill", "rolled_at", "doc"}, pgx.CopyFromRows(stored)); err != nil {
			b.Fatal(err)
		}
	}
	b.ReportMetric(float64(many)*float64(b.N)/b.Elapsed().Seconds(), "pieces/s")
}
