package migrations_test

import (
	"database/sql"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"barrelbook/api/store"
	"barrelbook/api/store/pgtest"
	"barrelbook/migrations"
	"github.com/google/go-cmp/cmp"
	_ "github.com/jackc/pgx/v5/stdlib"
)

func TestMain(m *testing.M) { os.Exit(pgtest.Main(m)) }

// databases opens an empty one of each kind.
var databases = map[migrations.Dialect]func(t *testing.T) *sql.DB{
	migrations.SQLite: func(t *testing.T) *sql.DB {
		return open(t, store.SQLiteDriver, "file:"+filepath.Join(t.TempDir(), "m.db")+"?_pragma=foreign_keys(1)&_txlock=immediate")
	},
	migrations.Postgres: func(t *testing.T) *sql.DB { return open(t, "pgx", pgtest.EmptyDSN(t)) },
}

func open(t *testing.T, driver, dsn string) *sql.DB {
	t.Helper()
	db, err := sql.Open(driver, dsn)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = db.Close() })
	return db
}

func TestSameFiles(t *testing.T) {
	names := func(d migrations.Dialect) []string {
		dir, err := migrations.Files(d)
		if err != nil {
			t.Fatal(err)
		}
		found, err := fs.Glob(dir, "*")
		if err != nil || len(found) == 0 {
			t.Fatalf("%s: %v, %v", d, found, err)
		}
		return found
	}
	if diff := cmp.Diff(names(migrations.SQLite), names(migrations.Postgres)); diff != "" {
		t.Errorf("files of sqlite and postgres differ:\n%s", diff)
	}
}

// TestUpDownUp steps down to nothing and wants nothing left, then the same
// schema again.
func TestUpDownUp(t *testing.T) {
	for dialect, empty := range databases {
		t.Run(string(dialect), func(t *testing.T) {
			db := empty(t)
			want(t, dialect, db, 0)
			up := func() { must(t, migrations.Up(t.Context(), dialect, db)) }
			up()
			before := columns(t, dialect, db)
			if len(before) < 50 {
				t.Fatalf("%d columns only: %v", len(before), before)
			}
			must(t, migrations.DownTo(t.Context(), dialect, db, 0))
			want(t, dialect, db, 0)
			if left := columns(t, dialect, db); len(left) > 0 {
				t.Errorf("left after stepping down: %v", left)
			}
			up()
			up() // once more changes nothing
			if diff := cmp.Diff(before, columns(t, dialect, db)); diff != "" {
				t.Errorf("up, down, up gives another schema:\n%s", diff)
			}
		})
	}
}

// want checks the version of the schema: 0, or the one of the program for -1.
func want(t *testing.T, d migrations.Dialect, db *sql.DB, version int64) {
	t.Helper()
	have, _, err := migrations.Versions(t.Context(), d, db)
	must(t, err)
	if have != version {
		t.Errorf("the schema is at version %d, want %d", have, version)
	}
}

// TestSameColumns wants the same tables with the same columns, types and
// nullability on both, so that one set of rows serves both.
func TestSameColumns(t *testing.T) {
	found := map[migrations.Dialect][]string{}
	for dialect, empty := range databases {
		db := empty(t)
		must(t, migrations.Up(t.Context(), dialect, db))
		found[dialect] = columns(t, dialect, db)
		have, program, err := migrations.Versions(t.Context(), dialect, db)
		must(t, err)
		if have != program || have == 0 {
			t.Errorf("%s: version %d after migrating, the program has %d", dialect, have, program)
		}
	}
	if diff := cmp.Diff(found[migrations.SQLite], found[migrations.Postgres]); diff != "" {
		t.Errorf("columns differ (-sqlite +postgres):\n%s", diff)
	}
}

// columns lists table.column type null in order, the types by one set of names.
func columns(t *testing.T, d migrations.Dialect, db *sql.DB) []string {
	t.Helper()
	query := `SELECT table_name, column_name, data_type, is_nullable = 'YES' FROM information_schema.columns
		WHERE table_schema = 'public' AND table_name <> 'goose_db_version' ORDER BY table_name, ordinal_position`
	if d == migrations.SQLite {
		query = `SELECT m.name, c.name, c.type, c."notnull" = 0 FROM sqlite_master m JOIN pragma_table_xinfo(m.name) c
			WHERE m.type = 'table' AND m.name <> 'goose_db_version' AND m.name NOT LIKE 'sqlite_%' ORDER BY m.name, c.cid`
	}
	rows, err := db.QueryContext(t.Context(), query)
	must(t, err)
	defer rows.Close()
	var all []string
	for rows.Next() {
		var table, column, kind string
		var null bool
		must(t, rows.Scan(&table, &column, &kind, &null))
		kind = strings.ToLower(kind)
		switch kind {
		case "bigint", "boolean": // SQLite has one word for both
			kind = "integer"
		case "double precision":
			kind = "real"
		case "bytea", "bit":
			kind = "blob"
		}
		all = append(all, fmt.Sprintf("%s.%s %s %v", table, column, kind, null))
	}
	must(t, rows.Err())
	return all
}

func must(t *testing.T, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}
