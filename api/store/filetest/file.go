// Package filetest gives tests a data file of their own with the current schema:
// a copy of one that the first test of a binary makes.
package filetest

import (
	"context"
	"os"
	"path/filepath"
	"sync"
	"testing"

	"barrelbook/api/store"
)

var schema = sync.OnceValues(func() ([]byte, error) {
	dir, err := os.MkdirTemp("", "barrelbook-filetest-")
	if err != nil {
		return nil, err
	}
	defer os.RemoveAll(dir)
	path := filepath.Join(dir, "schema.db")
	s, err := store.OpenSQLite(context.Background(), path, store.Options{Migrate: true, Volatile: true})
	if err != nil {
		return nil, err
	}
	if err := s.Close(); err != nil {
		return nil, err
	}
	return os.ReadFile(path)
})

// Path is the path of a fresh data file, which goes with the test.
func Path(t testing.TB) string {
	t.Helper()
	file, err := schema()
	if err != nil {
		t.Fatalf("a data file for the test: %v", err)
	}
	path := filepath.Join(t.TempDir(), "book.db")
	if err := os.WriteFile(path, file, 0o600); err != nil {
		t.Fatal(err)
	}
	return path
}
