package embedded_test

import (
	"database/sql"
	"errors"
	"flag"
	"fmt"
	"io/fs"
	"math/rand/v2"
	"net/http/httptest"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"barrelbook/api/embedded"
)

var (
	flips    = flag.Int("flips", 40, "bytes to flip, one at a time, in TestEveryFlipShows")
	flipSeed = flag.Uint64("flipseed", 7, "seed of TestEveryFlipShows")
)

// worksFile is the data file of a demo mill in which something of every kind was
// recorded, closed.
func worksFile(t *testing.T) string {
	t.Helper()
	l := loadOnce(t, "temper")
	path := filepath.Join(t.TempDir(), "works.db")
	if err := errors.Join(l.err, os.WriteFile(path, l.file, 0o600)); err != nil {
		t.Fatal(err)
	}
	s, err := embedded.Open(t.Context(), embedded.Options{Path: path, Volatile: true})
	if err != nil {
		t.Fatal(err)
	}
	c, ahead := client{t, s.Handler()}, l.ahead
	var any struct{}
	c.ask("POST", "/v1/rolls/"+ahead.Roll+"/regrinds", string(ahead.Regrind), 201, &any)
	c.ask("POST", "/v1/campaigns/"+ahead.Campaign+"/finish-checks", `{}`, 200, &any)
	c.ask("POST", "/v1/chocks", `{"name":"K1","mill":"`+ahead.Mill+`","role":"work","bearing":"four-row"}`, 201, &any)
	keyed := httptest.NewRequest("POST", "/v1/mills", strings.NewReader(`{"name":"OTHER","kind":"plate"}`))
	keyed.Header.Set("Content-Type", "application/json")
	keyed.Header.Set("Idempotency-Key", "once")
	w := httptest.NewRecorder()
	if s.Handler().ServeHTTP(w, keyed); w.Code != 201 {
		t.Fatal(w.Body)
	}
	if err := errors.Join(s.Verify(t.Context()), s.Close()); err != nil {
		t.Fatal(err)
	}
	return path
}

// verify verifies a data file without opening it to write.
func verify(t *testing.T, path string) error {
	t.Helper()
	return embedded.Verify(t.Context(), path)
}

// values is all that a file holds, row by row, in the order of the tables, and an
// error where it cannot be read.
func values(path string) (string, error) {
	db, err := sql.Open("sqlite", "file:"+path+"?mode=ro&immutable=1")
	if err != nil {
		return "", err
	}
	defer db.Close()
	tables, err := cells(db, "SELECT name FROM sqlite_master WHERE type = 'table' ORDER BY name")
	if err != nil {
		return "", err
	}
	var all strings.Builder
	for _, table := range strings.Fields(tables) {
		rows, err := cells(db, "SELECT * FROM \""+table+"\" NOT INDEXED")
		if err != nil {
			return "", err
		}
		fmt.Fprintf(&all, "%s\n%s\n", table, rows)
	}
	return all.String(), nil
}

func cells(db *sql.DB, query string) (string, error) {
	rows, err := db.Query(query)
	if err != nil {
		return "", err
	}
	defer rows.Close()
	columns, err := rows.Columns()
	if err != nil {
		return "", err
	}
	row := make([]any, len(columns))
	for i := range row {
		row[i] = new(any)
	}
	var all strings.Builder
	for rows.Next() {
		if err := rows.Scan(row...); err != nil {
			return "", err
		}
		for i, cell := range row {
			if i > 0 {
				all.WriteByte('\t')
			}
			fmt.Fprintf(&all, "%v", *cell.(*any))
		}
		all.WriteByte('\n')
	}
	return all.String(), rows.Err()
}

// TestEveryFlipShows changes one bit after another somewhere in the file of a works.
// Each that changes a value, or keeps one from being read, must be found; by
// -flips 2000 as many are tried.
func TestEveryFlipShows(t *testing.T) {
	path := worksFile(t)
	whole, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	before, err := values(path)
	if err != nil {
		t.Fatal(err)
	}
	random := rand.New(rand.NewPCG(*flipSeed, 1))
	flipped := filepath.Join(t.TempDir(), "flipped.db")
	changed, found, missed := 0, 0, 0
	tables := map[string]int{}
	for n := range *flips {
		bytes := append([]byte(nil), whole...)
		at, bit := random.IntN(len(bytes)), random.IntN(8)
		bytes[at] ^= 1 << bit
		if err := os.WriteFile(flipped, bytes, 0o600); err != nil {
			t.Fatal(err)
		}
		after, unreadable := values(flipped)
		damage := verify(t, flipped)
		if damage != nil {
			found++
			var first *embedded.Damage
			if errors.As(damage, &first) {
				tables[first.Table]++
			}
		}
		if unreadable == nil && after == before {
			continue
		}
		if changed++; damage == nil {
			missed++
			t.Errorf("seed %d, flip %d: bit %d of byte %d (page %d) changed a value and was not found: %v\n%s", *flipSeed, n, bit, at, at/4096+1, unreadable, firstDifference(before, after))
		}
	}
	t.Logf("%d flips in %d bytes: %d changed a value, %d of them were found; %d found in all, first in %v", *flips, len(whole), changed, changed-missed, found, tables)
	if changed < *flips/4 {
		t.Errorf("only %d of %d flips changed a value", changed, *flips)
	}
}

func firstDifference(a, b string) string {
	as, bs := strings.Split(a, "\n"), strings.Split(b, "\n")
	for i := range min(len(as), len(bs)) {
		if as[i] != bs[i] {
			return fmt.Sprintf("%.300s\n%.300s", as[i], bs[i])
		}
	}
	return ""
}

// TestVerifyNames does to a works what was once taken for whole, past the service,
// and wants the table named.
func TestVerifyNames(t *testing.T) {
	path := worksFile(t)
	whole, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct{ do, table, says string }{
		{"DELETE FROM pieces WHERE rowid IN (SELECT rowid FROM pieces LIMIT 100)", "pieces", "of the hour from"},
		{"DELETE FROM mountings", "mountings", "0 of 1 rows"},
		{"DELETE FROM roll_damage", "roll_damage", "0 of 1 rows"},
		{"DELETE FROM audit", "audit", "of the hour from"},
		{"DELETE FROM audit WHERE id = (SELECT max(id) FROM audit)", "audit", "of the hour from"},
		{"UPDATE practices SET settings = replace(settings, '1', '2') WHERE version = 1", "practices", " 1"},
		{"UPDATE chock_entries SET recorded_by = 'another' WHERE number = 1", "chock_entries", ""},
		{"DELETE FROM entries WHERE roll = (SELECT min(number) FROM roll_states); DELETE FROM roll_states WHERE number = (SELECT min(number) FROM roll_states)", "entries", "0 of"},
		{"UPDATE campaigns SET tonnage_t = tonnage_t + 1", "campaigns", ""},
		{"UPDATE mills SET title = title || ' '", "mills", ""},
		{"UPDATE stands SET max_force_kn = 1", "stands", ""},
		{"UPDATE grades SET family = family || 'x'", "grades", ""},
		{"UPDATE changes SET note = note || 'x' WHERE name = (SELECT min(name) FROM changes)", "changes", "change-"},
		{"UPDATE sets SET built_at = built_at + 1 WHERE name = (SELECT min(name) FROM sets)", "sets", ""},
		{"UPDATE answers SET answer = x'7b7d' WHERE rowid = (SELECT min(rowid) FROM answers)", "answers", "of the hour from"},
		{"UPDATE forecasts SET probability = 0.5", "forecasts", "of the hour from"},
		{"UPDATE wear_rate_parts SET doc = replace(doc, '1', '2')", "wear_rate_parts", ""},
		{"UPDATE piece_counts SET pieces = pieces + 1", "piece_counts", ""},
		{"INSERT INTO tokens (name, hash, role, created_at, expires_at) VALUES ('x', 'x', 'admin', 0, 9e15)", "tokens", "1 of 0 rows"},
		{"UPDATE seals SET kept = kept + 1 WHERE source = 'mills'", "mills", ""},
		{"DELETE FROM seals", "answers", ""},
		{"DELETE FROM seal_sources", "seal_sources", "not sealed by the rule"},
		{"DROP TABLE audit", "audit", "the whole table"},
	} {
		tampered := filepath.Join(t.TempDir(), "works.db")
		if err := os.WriteFile(tampered, whole, 0o600); err != nil {
			t.Fatal(err)
		}
		db, err := sql.Open("sqlite", "file:"+tampered+"?_pragma=synchronous(OFF)")
		if err != nil {
			t.Fatal(err)
		}
		db.SetMaxOpenConns(1)
		if _, err := db.Exec("DELETE FROM mills WHERE name = 'none'; " + c.do); err == nil && !strings.Contains(c.do, "seal") && !strings.HasPrefix(c.do, "DROP") {
			t.Errorf("another program may do %s", c.do)
		}
		triggers, err := cells(db, "SELECT name FROM sqlite_master WHERE type = 'trigger'")
		if err != nil {
			t.Fatal(err)
		}
		if _, err := db.Exec("BEGIN; DROP TRIGGER " + strings.Join(strings.Fields(triggers), "; DROP TRIGGER ") + "; COMMIT"); err != nil {
			t.Fatal(err)
		}
		for _, statement := range strings.Split(c.do, "; ") {
			var r sql.Result
			if r, err = db.Exec(statement); err == nil {
				if n, _ := r.RowsAffected(); n == 0 && !strings.HasPrefix(c.do, "DROP") {
					t.Errorf("nothing to do for %s", statement)
				}
			}
		}
		if err = errors.Join(err, db.Close()); err != nil {
			t.Fatalf("%s: %v", c.do, err)
		}
		var first *embedded.Damage
		if err := verify(t, tampered); !errors.As(err, &first) || first.Table != c.table || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%s: verify says %.300v, want table %s, … %s …", c.do, err, c.table, c.says)
		}
	}
}

// TestVerifyMakesNothing: not on a path where nothing is, not beside a file, and on
// a medium that cannot be written.
func TestVerifyMakesNothing(t *testing.T) {
	none := filepath.Join(t.TempDir(), "mistyped.db")
	if err := verify(t, none); !errors.Is(err, fs.ErrNotExist) {
		t.Errorf("a file that is not there: %v", err)
	}
	if left, _ := filepath.Glob(none + "*"); len(left) > 0 {
		t.Errorf("made %v", left)
	}
	path := worksFile(t)
	whole, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	folder := filepath.Join(t.TempDir(), "medium")
	written := filepath.Join(folder, "works.db")
	if err := errors.Join(os.Mkdir(folder, 0o700), os.WriteFile(written, whole, 0o400), os.Chmod(folder, 0o500)); err != nil {
		t.Fatal(err)
	}
	defer func() { _ = os.Chmod(folder, 0o700) }()
	if err := verify(t, written); err != nil {
		t.Errorf("on a medium that cannot be written: %v", err)
	}
	entries, err := os.ReadDir(folder)
	if err != nil || len(entries) != 1 {
		t.Errorf("beside the file are %v, %v", entries, err)
	}
	// A file of a program that reads all of it, in the middle of which pages are zero.
	for at := len(whole) / 3; at < len(whole)/3+30*4096; at++ {
		whole[at] = 0
	}
	if err := os.WriteFile(path, whole, 0o600); err != nil {
		t.Fatal(err)
	}
	if err := verify(t, path); err == nil {
		t.Error("thirty zeroed pages were taken for whole")
	}
}

// TestCopyWithoutLog copies a data file that is in use, and forgets its log.
func TestCopyWithoutLog(t *testing.T) {
	path := worksFile(t)
	s, err := embedded.Open(t.Context(), embedded.Options{Path: path})
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	c := client{t, s.Handler()}
	var any struct{}
	c.ask("POST", "/v1/mills", `{"name":"LATE","kind":"plate"}`, 201, &any)
	bytes, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	copied := filepath.Join(t.TempDir(), "copy.db")
	if err := os.WriteFile(copied, bytes, 0o600); err != nil {
		t.Fatal(err)
	}
	if err := verify(t, copied); err == nil || !strings.Contains(err.Error(), "its log") {
		t.Errorf("a copy without its log: %v", err)
	}
	if _, err := embedded.Backup(t.Context(), copied, filepath.Join(t.TempDir(), "b.db")); !errors.Is(err, embedded.ErrUnsound) {
		t.Errorf("a backup of it: %v", err)
	}
	// Who goes on with it all the same finds it noted.
	again, err := embedded.Open(t.Context(), embedded.Options{Path: copied})
	if err != nil {
		t.Fatal(err)
	}
	var audit struct {
		Items []struct {
			What string `json:"what"`
		} `json:"items"`
	}
	client{t, again.Handler()}.ask("GET", "/v1/audit?limit=1", "", 200, &audit)
	if len(audit.Items) != 1 || !strings.Contains(audit.Items[0].What, "its log") {
		t.Errorf("the audit says %v", audit)
	}
	if err := errors.Join(again.Verify(t.Context()), again.Close(), verify(t, copied)); err != nil {
		t.Error(err)
	}
}

// TestFilesOfOthers are not written to.
func TestFilesOfOthers(t *testing.T) {
	for _, c := range []struct{ name, do, says string }{
		{"tables", "CREATE TABLE contacts (name TEXT)", "another program"},
		{"mark", "PRAGMA application_id = 252006673", "another program"},
		{"newer", fmt.Sprintf("PRAGMA application_id = %d; PRAGMA user_version = 99999", 0x62626b31), "newer version"},
	} {
		path := filepath.Join(t.TempDir(), c.name+".db")
		db, err := sql.Open("sqlite", "file:"+path)
		if err != nil {
			t.Fatal(err)
		}
		_, err = db.Exec("CREATE TABLE x (a); DROP TABLE x; " + c.do)
		if err = errors.Join(err, db.Close()); err != nil {
			t.Fatal(err)
		}
		before, _ := os.ReadFile(path)
		s, err := embedded.Open(t.Context(), embedded.Options{Path: path})
		if err == nil {
			_ = s.Close()
		}
		if err == nil || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%s: %v, want … %s …", c.name, err, c.says)
		}
		if after, _ := os.ReadFile(path); c.name != "tables" && string(after) != string(before) {
			t.Errorf("%s: the file was written to", c.name)
		}
	}
	text := filepath.Join(t.TempDir(), "letter.txt")
	if err := os.WriteFile(text, []byte(strings.Repeat("Dear reader, ", 100)), 0o600); err != nil {
		t.Fatal(err)
	}
	if s, err := embedded.Open(t.Context(), embedded.Options{Path: text}); err == nil {
		t.Error("a letter was opened", s.Close())
	}
}
