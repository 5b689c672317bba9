package store_test

import (
	"context"
	"database/sql"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"testing"

	_ "github.com/jackc/pgx/v5/stdlib"
	"golang.org/x/sync/errgroup"

	"barrelbook/api/app/port"
	"barrelbook/api/store"
	"barrelbook/api/store/pgtest"
	"barrelbook/domain/mill"
)

// database is one of either kind, with a way past the store.
type database struct {
	open func(o store.Options) (*store.Store, error)
	raw  func(t testing.TB) *sql.DB
	// sealing is raw with the driver of the service.
	sealing func(t testing.TB) *sql.DB
}

// databases gives an empty one of each kind.
func databases(t *testing.T, test func(t *testing.T, d database)) {
	t.Run("sqlite", func(t *testing.T) {
		path := tempFile(t)
		test(t, database{
			open: func(o store.Options) (*store.Store, error) { return store.OpenSQLite(context.Background(), path, o) },
			raw: func(t testing.TB) *sql.DB {
				return rawDB(t, "sqlite", "file:"+(&url.URL{Path: path}).EscapedPath()+"?_pragma=busy_timeout(5000)")
			},
			sealing: func(t testing.TB) *sql.DB {
				return rawDB(t, store.SQLiteDriver, "file:"+(&url.URL{Path: path}).EscapedPath()+"?_pragma=busy_timeout(5000)")
			},
		})
	})
	t.Run("postgres", func(t *testing.T) {
		dsn := pgtest.EmptyDSN(t)
		test(t, database{
			open:    func(o store.Options) (*store.Store, error) { return store.OpenPostgres(context.Background(), dsn, o) },
			raw:     func(t testing.TB) *sql.DB { return rawDB(t, "pgx", dsn) },
			sealing: func(t testing.TB) *sql.DB { return rawDB(t, "pgx", dsn) },
		})
	})
}

func rawDB(t testing.TB, driver, dsn string) *sql.DB {
	t.Helper()
	db, err := sql.Open(driver, dsn)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = db.Close() })
	return db
}

// TestOpenAtOnce opens an empty database from eight sides. All must succeed
// and each migration must have run once.
func TestOpenAtOnce(t *testing.T) {
	databases(t, func(t *testing.T, d database) {
		var g errgroup.Group
		stores := make([]*store.Store, 8)
		for i := range stores {
			g.Go(func() (err error) {
				if stores[i], err = d.open(store.Options{Migrate: true, MaxConns: 2}); err != nil {
					return err
				}
				return stores[i].Ping(context.Background())
			})
		}
		if err := g.Wait(); err != nil {
			t.Error(err)
		}
		for _, s := range stores {
			if s != nil {
				opened(t, s, nil)
			}
		}
		var twice int
		row := d.raw(t).QueryRow("SELECT count(*) FROM (SELECT version_id FROM goose_db_version WHERE version_id > 0 GROUP BY version_id HAVING count(*) > 1) AS t")
		if err := row.Scan(&twice); err != nil || twice != 0 {
			t.Errorf("%d migrations ran twice, %v", twice, err)
		}
	})
}

// TestPingBehind wants a plain sentence with the next command where the schema
// is behind, and a schema that is ahead let pass.
func TestPingBehind(t *testing.T) {
	databases(t, func(t *testing.T, d database) {
		s, err := d.open(store.Options{})
		opened(t, s, err)
		if err := s.Ping(t.Context()); err == nil || !strings.Contains(err.Error(), "migrate up") {
			t.Errorf("ping of an empty database: %v", err)
		}
		if err := s.Migrate(t.Context()); err != nil {
			t.Fatal(err)
		}
		if err := s.Ping(t.Context()); err != nil {
			t.Errorf("ping after migrating: %v", err)
		}
		if _, err := d.raw(t).Exec("INSERT INTO goose_db_version (version_id, is_applied) VALUES (99999, true)"); err != nil {
			t.Fatal(err)
		}
		if err := s.Ping(t.Context()); err != nil {
			t.Errorf("ping where the schema is ahead: %v", err)
		}
	})
}

// TestSQLiteFile wants the data file, whatever its path, to be its owner's
// alone, and what was written to be there when it is opened again.
func TestSQLiteFile(t *testing.T) {
	path := filepath.Join(t.TempDir(), "new folder", "a?b#c%20d é.db")
	for round := range 2 {
		s, err := store.OpenSQLite(t.Context(), path, store.Options{Migrate: true})
		if err != nil {
			t.Fatal(err)
		}
		if round == 0 {
			err = s.Write(t.Context(), func(w port.Writer) error { return w.CreateMill(mill.Mill{Name: "HSM", Kind: mill.HotStrip}) })
		} else {
			err = s.Read(t.Context(), func(r port.Reader) error { _, err := r.Mill("HSM"); return err })
		}
		if err != nil {
			t.Error(err)
		}
		files, err := filepath.Glob(filepath.Join(filepath.Dir(path), "*"))
		if err != nil || len(files) < 3 {
			t.Fatalf("files %v, %v: want the data file and its two side files", files, err)
		}
		for _, file := range files {
			if info, err := os.Stat(file); err != nil || info.Mode().Perm() != 0o600 {
				t.Errorf("%s has mode %v, %v, want 0600", file, info.Mode(), err)
			}
		}
		if err := s.Close(); err != nil {
			t.Error(err)
		}
	}
	if _, err := store.OpenSQLite(t.Context(), t.TempDir(), store.Options{}); err == nil {
		t.Error("a folder was opened as a data file")
	}
}

// TestSynchronous wants an acknowledged entry on the disk unless the data is
// said to be throwaway.
func TestSynchronous(t *testing.T) {
	for _, c := range []struct {
		o          store.Options
		lite, post string
	}{{store.Options{}, "2", "on"}, {store.Options{Volatile: true}, "0", "off"}} {
		path := tempFile(t)
		s, err := store.OpenSQLite(t.Context(), path, c.o)
		opened(t, s, err)
		if got := store.Setting(s, "PRAGMA synchronous"); got != c.lite {
			t.Errorf("sqlite with %+v: synchronous is %s, want %s", c.o, got, c.lite)
		}
		dsn := pgtest.DSN(t)
		if err := presetDatabase(t, dsn, "synchronous_commit", "on"); err != nil {
			t.Fatal(err)
		}
		p, err := store.OpenPostgres(t.Context(), dsn, c.o)
		opened(t, p, err)
		if got := store.Setting(p, "SHOW synchronous_commit"); got != c.post {
			t.Errorf("postgres with %+v: synchronous_commit is %s, want %s", c.o, got, c.post)
		}
	}
}

// presetDatabase sets a setting for all connections to come.
func presetDatabase(t *testing.T, dsn, setting, value string) error {
	db := rawDB(t, "pgx", dsn)
	var name string
	if err := db.QueryRow("SELECT quote_ident(current_database())").Scan(&name); err != nil {
		return err
	}
	_, err := db.Exec("ALTER DATABASE " + name + " SET " + setting + " = '" + value + "'")
	return err
}
