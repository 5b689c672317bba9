package trials

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"

	_ "github.com/jackc/pgx/v5/stdlib"

	"barrelbook/api/embedded"
	"barrelbook/api/rest"
	"barrelbook/api/store/pgtest"
)

// notKnown holds an answer to a record that could not be stored, or whose
// storing nobody heard of: 503, when to try again, and what to do.
func notKnown(t *testing.T, r reply, why string) {
	t.Helper()
	if r.status != 503 || r.header.Get("Retry-After") == "" || !strings.Contains(r.detail(), "not known whether it was stored: send it again with the same Idempotency-Key") {
		t.Errorf("a record got %s (Retry-After %q)", r, r.header.Get("Retry-After"))
	}
	if !strings.Contains(r.detail(), why) {
		t.Errorf("the detail %q does not say that %q", r.detail(), why)
	}
}

// failedPieces holds the answer to two pieces that could not be stored.
func failedPieces(t *testing.T, s *site) {
	t.Helper()
	at := time.Now().Add(-time.Minute)
	r := send(s.url, "POST", "/v1/pieces", "", piece("X1", at, 1000, "F1")+piece("X2", at, 1000, "F1"))
	if text := string(r.body); strings.Count(text, `"status":"failed"`) != 2 || !strings.Contains(text, `"failed_count":2`) || !strings.Contains(text, "send it again") {
		t.Errorf("the pieces got %s", r)
	}
}

func notReady(t *testing.T, s *site, why string) {
	t.Helper()
	if r := s.get("/readyz"); r.status != 503 || !strings.Contains(r.detail(), why) {
		t.Errorf("readyz says %s, want 503 and %q", r, why)
	}
}

// mended waits until a record is taken again; the same key is stored once.
func mended(t *testing.T, s *site, key, number string) {
	t.Helper()
	var first reply
	for range 100 {
		if first = send(s.url, "POST", "/v1/rolls", key, newRoll(number)); first.status == 201 {
			break
		}
		time.Sleep(100 * time.Millisecond)
	}
	second := send(s.url, "POST", "/v1/rolls", key, newRoll(number))
	if first.status != 201 || second.status != 201 || string(first.body) != string(second.body) {
		t.Errorf("after it was mended:\n%s\n%s", first, second)
	}
	if r := s.get("/readyz"); r.status != 200 {
		t.Errorf("readyz after it was mended: %s", r)
	}
}

func newRoll(number string) string {
	return receipt(number, "work", 700, hourAgo)
}

var hourAgo = time.Now().UTC().Add(-time.Hour).Truncate(time.Second)

// TestServerAway stops PostgreSQL, fills its connections, makes it read-only and
// lets it take too long, each while a daemon runs on it.
func TestServerAway(t *testing.T) {
	t.Parallel()
	cluster := pgtest.Own(t, "", "max_connections=8", "superuser_reserved_connections=0", "fsync=off")
	dsn := cluster.DSN("away")
	s := open(t, embedded.Options{Path: dsn, MaxConns: 4, Edge: rest.Options{Timeout: 1500 * time.Millisecond}})
	s.mill()
	if r := s.get("/readyz"); r.status != 200 {
		t.Fatalf("readyz: %s", r)
	}
	t.Run("stopped", func(t *testing.T) {
		cluster.Stop()
		notKnown(t, send(s.url, "POST", "/v1/rolls", "stopped", newRoll("S")), "does not answer")
		if r := s.get("/v1/rolls"); r.status != 503 || strings.Contains(r.detail(), "stored") {
			t.Errorf("a reading got %s", r)
		}
		failedPieces(t, s)
		notReady(t, s, "does not answer")
		cluster.Start()
		mended(t, s, "stopped", "S")
	})
	t.Run("read-only", func(t *testing.T) {
		cluster.Exec("postgres", "ALTER DATABASE away SET default_transaction_read_only = on")
		cluster.Exec("postgres", "SELECT pg_terminate_backend(pid) FROM pg_stat_activity WHERE datname = 'away'")
		time.Sleep(50 * time.Millisecond)
		send(s.url, "POST", "/v1/rolls", "", newRoll("S")) // a connection that was ended is noticed once
		notKnown(t, send(s.url, "POST", "/v1/rolls", "read-only", newRoll("R")), "read-only")
		failedPieces(t, s)
		notReady(t, s, "read-only")
		if r := s.get("/v1/rolls"); r.status != 200 {
			t.Errorf("a reading got %s", r)
		}
		cluster.Exec("postgres", "ALTER DATABASE away SET default_transaction_read_only = off")
		cluster.Exec("postgres", "SELECT pg_terminate_backend(pid) FROM pg_stat_activity WHERE datname = 'away'")
		mended(t, s, "read-only", "R")
	})
	t.Run("full of connections", func(t *testing.T) {
		empty := occupy(t, strings.Replace(dsn, "/away", "/postgres", 1))
		for range 4 { // connections that were ended are noticed once each
			send(s.url, "POST", "/v1/rolls", "", newRoll("S"))
		}
		notKnown(t, send(s.url, "POST", "/v1/rolls", "connections", newRoll("C")), "connection left")
		notReady(t, s, "connection left")
		empty()
		mended(t, s, "connections", "C")
	})
	t.Run("too slow", func(t *testing.T) {
		db, err := sql.Open("pgx", dsn)
		if err != nil {
			t.Fatal(err)
		}
		defer db.Close()
		tx, err := db.Begin()
		if err == nil {
			_, err = tx.Exec("LOCK TABLE audit IN EXCLUSIVE MODE")
		}
		if err != nil {
			t.Fatal(err)
		}
		notKnown(t, send(s.url, "POST", "/v1/rolls", "slow", newRoll("T")), "")
		if err := tx.Rollback(); err != nil {
			t.Fatal(err)
		}
		mended(t, s, "slow", "T")
	})
}

// occupy takes every connection of a server, those of others too, until the
// result gives them back.
func occupy(t *testing.T, dsn string) (empty func()) {
	t.Helper()
	db, err := sql.Open("pgx", dsn)
	if err != nil {
		t.Fatal(err)
	}
	var taken []*sql.Conn
	take := func() bool {
		ctx, cancel := context.WithTimeout(t.Context(), 3*time.Second)
		defer cancel()
		c, err := db.Conn(ctx)
		if err == nil {
			taken = append(taken, c)
		}
		return err == nil
	}
	for take() {
	}
	if _, err := taken[0].ExecContext(t.Context(), "SELECT pg_terminate_backend(pid) FROM pg_stat_activity WHERE datname = 'away'"); err != nil {
		t.Fatal(err)
	}
	for range 20 {
		for take() {
		}
		time.Sleep(5 * time.Millisecond) // a backend that was ended makes room a little later
	}
	return func() {
		for _, c := range taken {
			_ = c.Close()
		}
		_ = db.Close()
	}
}

// TestLostCommit cuts the line to PostgreSQL after a COMMIT went out and before
// its answer came back: the record may be there, and the answer must say so.
func TestLostCommit(t *testing.T) {
	t.Parallel()
	cluster := pgtest.Own(t, "", "fsync=off")
	cluster.DSN("lost")
	proxy := newProxy(t, filepath.Join(cluster.Folder(), ".s.PGSQL.5432"))
	s := open(t, embedded.Options{Path: "postgres://postgres@" + proxy.address + "/lost?sslmode=disable", MaxConns: 4})
	s.mill()
	stored := 0
	for i := range 12 {
		key, number := fmt.Sprint("lost-", i), fmt.Sprint("L", i)
		proxy.cutCommits(1)
		notKnown(t, send(s.url, "POST", "/v1/rolls", key, newRoll(number)), "does not answer")
		proxy.cutCommits(0)
		if r := s.get("/v1/rolls/" + number); r.status == 200 {
			stored++
		}
		mended(t, s, key, number)
	}
	t.Logf("%d of 12 were stored although their answer was lost", stored)
	if stored == 0 {
		t.Error("no commit came through: nothing was tested")
	}
}

// small makes a file system of the size given, in bytes.
func small(t *testing.T, size string) string {
	t.Helper()
	dir, err := os.MkdirTemp("/tmp", "bb-small-")
	if err != nil {
		t.Fatal(err)
	}
	if err := syscall.Mount("tmpfs", dir, "tmpfs", 0, "mode=755,size="+size); err != nil {
		_ = os.Remove(dir)
		t.Skipf("NOT TESTED ON A FULL DISK: making a small file system needs the right to mount: %v", err)
	}
	t.Cleanup(func() { _ = errors.Join(syscall.Unmount(dir, syscall.MNT_DETACH), os.Remove(dir)) })
	return dir
}

// fill takes what room is left on the disk; the result gives it back.
func fill(t *testing.T, dir string) (empty func()) {
	t.Helper()
	path := filepath.Join(dir, "filler")
	f, err := os.Create(path)
	if err != nil {
		t.Fatal(err)
	}
	for size := 1 << 20; size >= 1; size /= 2 {
		for block := make([]byte, size); err == nil; {
			_, err = f.Write(block)
		}
		if !errors.Is(err, syscall.ENOSPC) {
			t.Fatal(err)
		}
		err = nil
	}
	_ = f.Close()
	return func() { _ = os.Remove(path) }
}

// TestDiskFull fills the disk of a data file and of a server.
func TestDiskFull(t *testing.T) {
	t.Parallel()
	full := func(t *testing.T, s *site, dir string) {
		s.mill()
		empty := fill(t, dir)
		// What room is left within the files is used up first.
		var r reply
		key := ""
		for i := range 5000 {
			key = fmt.Sprint("full-", i)
			if r = send(s.url, "POST", "/v1/rolls", key, newRoll(fmt.Sprint("D", i))); r.status != 201 {
				break
			}
		}
		notKnown(t, r, "full")
		notReady(t, s, "full")
		failedPieces(t, s)
		if r := s.get("/v1/mills"); r.status != 200 {
			t.Errorf("a reading got %s", r)
		}
		empty()
		mended(t, s, key, "D"+strings.TrimPrefix(key, "full-"))
		if err := s.service.Verify(t.Context()); err != nil {
			t.Error(err)
		}
	}
	t.Run("file", func(t *testing.T) {
		dir := small(t, "8m")
		full(t, open(t, plain(filepath.Join(dir, "shop.db"))), dir)
	})
	t.Run("postgresql", func(t *testing.T) {
		dir := small(t, "96m")
		cluster := pgtest.Own(t, dir, "fsync=off", "min_wal_size=32MB", "max_wal_size=32MB")
		full(t, open(t, plain(cluster.DSN("crammed"))), dir)
	})
}
