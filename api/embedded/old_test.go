package embedded_test

import (
	"compress/gzip"
	"database/sql"
	"errors"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"

	_ "github.com/jackc/pgx/v5/stdlib"

	"barrelbook/api/embedded"
	"barrelbook/api/store/pgtest"
)

func TestMain(m *testing.M) { os.Exit(pgtest.Main(m)) }

// oldFiles are small works, one of each schema that was ever on main, made by the
// programs of their time from one list of requests: as a data file, and as a dump of
// PostgreSQL.
func oldFiles(t *testing.T, kind string) map[string][]byte {
	t.Helper()
	paths, err := filepath.Glob("../../testdata/old/*." + kind + ".gz")
	if err != nil || len(paths) < 12 {
		t.Fatalf("%v, %v", paths, err)
	}
	files := map[string][]byte{}
	for _, path := range paths {
		f, err := os.Open(path)
		if err != nil {
			t.Fatal(err)
		}
		z, err := gzip.NewReader(f)
		if err != nil {
			t.Fatal(err)
		}
		text, err := io.ReadAll(z)
		if err = errors.Join(err, f.Close()); err != nil {
			t.Fatal(err)
		}
		files[strings.TrimSuffix(filepath.Base(path), "."+kind+".gz")] = text
	}
	return files
}

// TestOldDataFiles: each verifies as it is, is copied, opens, answers, and verifies
// after that.
func TestOldDataFiles(t *testing.T) {
	for name, bytes := range oldFiles(t, "db") {
		t.Run(name, func(t *testing.T) {
			path := filepath.Join(t.TempDir(), name+".db")
			if err := os.WriteFile(path, bytes, 0o600); err != nil {
				t.Fatal(err)
			}
			if err := embedded.Verify(t.Context(), path); err != nil {
				t.Errorf("as it is: %v", err)
			}
			if after, err := os.ReadFile(path); err != nil || string(after) != string(bytes) {
				t.Errorf("verify changed the file, %v", err)
			}
			holds, err := embedded.Backup(t.Context(), path, filepath.Join(t.TempDir(), "copy.db"))
			if err != nil || holds.Rolls != 6 || holds.Pieces != 6 {
				t.Errorf("the copy holds %+v, %v", holds, err)
			}
			answersOfOld(t, name, path)
			if err := embedded.Verify(t.Context(), path); err != nil {
				t.Errorf("after it was opened: %v", err)
			}
		})
	}
}

// TestOldDumps does the same on PostgreSQL.
func TestOldDumps(t *testing.T) {
	for name, dump := range oldFiles(t, "sql") {
		t.Run(name, func(t *testing.T) {
			dsn := pgtest.EmptyDSN(t)
			db, err := sql.Open("pgx", dsn)
			if err != nil {
				t.Fatal(err)
			}
			_, err = db.Exec(string(dump))
			if err = errors.Join(err, db.Close()); err != nil {
				t.Fatal(err)
			}
			if err := embedded.Verify(t.Context(), dsn); err != nil {
				t.Errorf("as it is: %v", err)
			}
			answersOfOld(t, name, dsn)
			if err := embedded.Verify(t.Context(), dsn); err != nil {
				t.Errorf("after it was opened: %v", err)
			}
		})
	}
}

// answersOfOld opens the works and asks it for what was recorded in it.
func answersOfOld(t *testing.T, name, database string) {
	t.Helper()
	s, err := embedded.Open(t.Context(), embedded.Options{Path: database})
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	if err := s.Verify(t.Context()); err != nil {
		t.Errorf("when it is open: %v", err)
	}
	c := client{t, s.Handler()}
	var roll struct {
		State struct {
			Diameter float64 `json:"diameter_mm"`
			Stage    string  `json:"stage"`
		} `json:"state"`
		Totals struct {
			Tonnage float64 `json:"tonnage_t"`
			Pieces  int     `json:"pieces"`
		} `json:"totals"`
		Version int64 `json:"version"`
	}
	c.ask("GET", "/v1/rolls/W1", "", 200, &roll)
	rolled := 120.0 // six pieces of 20 t
	if name == "34" {
		rolled = 0 // its sets were not released, and so not mounted
	}
	if roll.State.Diameter != 738.9 || roll.State.Stage != "ground" || roll.Totals.Tonnage != rolled {
		t.Errorf("W1 is %+v", roll)
	}
	var book struct {
		Items []struct {
			Kind string `json:"kind"`
		} `json:"items"`
	}
	c.ask("GET", "/v1/rolls/W1/entries?limit=100", "", 200, &book)
	if int64(len(book.Items)) != roll.Version || len(book.Items) < 4 || book.Items[0].Kind != "received" {
		t.Errorf("the book of W1 is %+v", book)
	}
	var any struct{}
	c.ask("POST", "/v1/campaigns/next/finish-checks", `{}`, 200, &any)
	c.ask("GET", "/v1/reports/stock", "", 200, &any)
	// And it goes on: the entry is chained to those of its time.
	c.ask("POST", "/v1/rolls/W1/holds", `{"reason":"looked at again"}`, 201, &any)
	if err := s.Verify(t.Context()); err != nil {
		t.Errorf("after an entry: %v", err)
	}
}
