package store_test

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"path/filepath"
	"testing"

	"barrelbook/api/store"
)

func preparedDB(t *testing.T) *sql.DB {
	t.Helper()
	db, err := sql.Open(store.SQLiteDriver, "file:"+filepath.Join(t.TempDir(), "p.db"))
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = db.Close() })
	db.SetMaxOpenConns(1)
	mustExec(t, db, "CREATE TABLE n (i INTEGER PRIMARY KEY, s TEXT)")
	for i := range 5 {
		mustExec(t, db, "INSERT INTO n VALUES (?, ?)", i, fmt.Sprint("row ", i))
	}
	return db
}

func mustExec(t *testing.T, db *sql.DB, query string, args ...any) {
	t.Helper()
	if _, err := db.Exec(query, args...); err != nil {
		t.Fatalf("%s: %v", query, err)
	}
}

// TestPreparedStatementInUse runs a statement again while its rows are read.
func TestPreparedStatementInUse(t *testing.T) {
	db := preparedDB(t)
	tx, err := db.Begin()
	if err != nil {
		t.Fatal(err)
	}
	defer tx.Rollback()
	const query = "SELECT i FROM n WHERE i >= ? ORDER BY i"
	for round := range 3 {
		outer, err := tx.Query(query, 0)
		if err != nil {
			t.Fatal(err)
		}
		var seen int
		for outer.Next() {
			var i, inner int
			if err := errors.Join(outer.Scan(&i), tx.QueryRow(query, 4).Scan(&inner)); err != nil {
				t.Fatal(err)
			}
			if i != seen || inner != 4 {
				t.Fatalf("round %d: outer row %d, want %d; inner row %d, want 4", round, i, seen, inner)
			}
			seen++
		}
		if err := errors.Join(outer.Err(), outer.Close()); err != nil || seen != 5 {
			t.Fatalf("round %d: %d rows, %v", round, seen, err)
		}
	}
}

// TestPreparedStatementAfterTrouble runs a statement again after it failed, was
// cancelled, and after its table was changed.
func TestPreparedStatementAfterTrouble(t *testing.T) {
	db := preparedDB(t)
	const insert = "INSERT INTO n VALUES (?, ?)"
	for round := range 3 {
		if _, err := db.Exec(insert, 1, "again"); err == nil {
			t.Fatal("the same key was stored twice")
		}
		mustExec(t, db, insert, 10+round, "new")
	}
	const slow = "WITH RECURSIVE c(x) AS (SELECT 1 UNION ALL SELECT x+1 FROM c WHERE x < ?) SELECT sum(x) FROM c"
	var sum int
	if err := db.QueryRow(slow, 10).Scan(&sum); err != nil || sum != 55 {
		t.Fatal(sum, err)
	}
	ctx, cancel := context.WithCancel(context.Background())
	go cancel()
	if err := db.QueryRowContext(ctx, slow, 1_000_000_000).Scan(&sum); err == nil {
		t.Fatal("not cancelled")
	}
	if err := db.QueryRow(slow, 4).Scan(&sum); err != nil || sum != 10 {
		t.Fatal(sum, err)
	}
	columns := func() int {
		rows, err := db.Query("SELECT * FROM n LIMIT 1")
		if err != nil {
			t.Fatal(err)
		}
		defer rows.Close()
		names, err := rows.Columns()
		if err != nil {
			t.Fatal(err)
		}
		return len(names)
	}
	if n := columns(); n != 2 {
		t.Fatal(n, "columns")
	}
	mustExec(t, db, "ALTER TABLE n ADD COLUMN extra TEXT")
	if n := columns(); n != 3 {
		t.Fatalf("%d columns after one was added to two", n)
	}
}

// TestPreparedStatementsAreBounded asks more different statements than are kept.
func TestPreparedStatementsAreBounded(t *testing.T) {
	db := preparedDB(t)
	for round := range 2 {
		for i := range 400 {
			var got int
			if err := db.QueryRow(fmt.Sprintf("SELECT %d + ?", i), round).Scan(&got); err != nil || got != i+round {
				t.Fatal(i, got, err)
			}
		}
	}
	conn, err := db.Conn(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	defer conn.Close()
	err = conn.Raw(func(c any) error {
		if n := store.PreparedOf(c); n == 0 || n > store.MostPrepared {
			return fmt.Errorf("%d statements are kept, want 1 to %d", n, store.MostPrepared)
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
}
