package store_test

import (
	"context"
	"os"
	"path/filepath"
	"testing"

	"barrelbook/api/store"
	"barrelbook/api/store/filetest"
	"barrelbook/api/store/pgtest"
	"barrelbook/api/store/storetest"
)

func TestMain(m *testing.M) {
	if os.Getenv(crashChild) != "" {
		appendUntilKilled()
		return
	}
	os.Exit(pgtest.Main(m))
}

func TestConformance(t *testing.T) {
	t.Run("sqlite", func(t *testing.T) {
		storetest.Run(t, func(t testing.TB) storetest.Store { return openSQLite(t, filetest.Path(t)) })
	})
	t.Run("postgres", func(t *testing.T) {
		storetest.Run(t, func(t testing.TB) storetest.Store { return openPostgres(t, pgtest.DSN(t)) })
	})
}

func tempFile(t testing.TB) string { return filepath.Join(t.TempDir(), "book.db") }

// openSQLite opens without waiting for the disk: no test here pulls the plug.
func openSQLite(t testing.TB, path string) *store.Store {
	t.Helper()
	s, err := store.OpenSQLite(t.Context(), path, store.Options{Migrate: true, Volatile: true})
	return opened(t, s, err)
}

func openPostgres(t testing.TB, dsn string) *store.Store {
	t.Helper()
	s, err := store.OpenPostgres(context.Background(), dsn, store.Options{})
	return opened(t, s, err)
}

func opened(t testing.TB, s *store.Store, err error) *store.Store {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := s.Close(); err != nil {
			t.Errorf("close: %v", err)
		}
	})
	return s
}
