package pgtest

import (
	"context"
	"errors"
	"fmt"
	"os"
	"syscall"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"
)

// Cluster is a server of one test alone, which may be done harm to.
type Cluster struct {
	t testing.TB
	s *server
}

// Own starts a cluster with settings such as "max_connections=10"; its data are
// in a folder under parent, /tmp when that is empty. Commits are kept when the
// server is killed. It is skipped and failed as DSN is.
func Own(t testing.TB, parent string, settings ...string) *Cluster {
	t.Helper()
	if parent == "" {
		parent = "/tmp"
	}
	s, err := start(parent, append([]string{"wal_level=minimal", "max_wal_senders=0"}, settings...)...)
	switch {
	case errors.Is(err, errNoBinaries) && os.Getenv("CI") == "":
		t.Skipf("NOT TESTED ON POSTGRESQL: %v", err)
	case err != nil:
		t.Fatalf("PostgreSQL for the test: %v", err)
	}
	t.Cleanup(s.stop)
	return &Cluster{t: t, s: s}
}

// DSN is the address of a database on it with the current schema, made anew.
func (c *Cluster) DSN(name string) string {
	c.t.Helper()
	c.Exec("postgres", "CREATE DATABASE "+name)
	dsn := c.s.dsn(name)
	if err := migrate(dsn); err != nil {
		c.t.Fatal(err)
	}
	return dsn
}

// Folder is where its socket is.
func (c *Cluster) Folder() string { return c.s.dir }

// Exec runs a statement on one of its databases.
func (c *Cluster) Exec(database, statement string) {
	c.t.Helper()
	ctx, cancel := context.WithTimeout(context.Background(), 20*time.Second)
	defer cancel()
	conn, err := pgx.Connect(ctx, c.s.dsn(database))
	if err == nil {
		_, err = conn.Exec(ctx, statement)
		err = errors.Join(err, conn.Close(ctx))
	}
	if err != nil {
		c.t.Fatalf("%s: %v", statement, err)
	}
}

// Kill ends the server as a loss of power to its process would: at once.
func (c *Cluster) Kill() {
	_ = c.s.cmd.Process.Kill()
	<-c.s.exited
}

// Stop ends the server and breaks off what is under way.
func (c *Cluster) Stop() {
	_ = c.s.cmd.Process.Signal(syscall.SIGINT)
	<-c.s.exited
}

// Start starts the server again. What it had begun may still be ending.
func (c *Cluster) Start() {
	c.t.Helper()
	var err error
	for range 100 {
		if err = c.s.boot(); err == nil {
			return
		}
		time.Sleep(50 * time.Millisecond)
	}
	c.t.Fatalf("PostgreSQL does not come up again: %v", err)
}

// KillBackends kills the processes that serve a database, up to n of them: the
// server then ends all others too and recovers.
func (c *Cluster) KillBackends(database string, n int) int {
	ctx, cancel := context.WithTimeout(context.Background(), 20*time.Second)
	defer cancel()
	conn, err := pgx.Connect(ctx, c.s.dsn("postgres"))
	if err != nil {
		return 0 // it is recovering already
	}
	defer conn.Close(ctx)
	rows, err := conn.Query(ctx, "SELECT pid FROM pg_stat_activity WHERE datname = $1 AND state <> 'idle' ORDER BY random() LIMIT $2", database, n)
	if err != nil {
		return 0
	}
	pids, err := pgx.CollectRows(rows, pgx.RowTo[int])
	if err != nil {
		return 0
	}
	killed := 0
	for _, pid := range pids {
		if syscall.Kill(pid, syscall.SIGKILL) == nil {
			killed++
		}
	}
	return killed
}

// Await waits until it takes connections.
func (c *Cluster) Await() error {
	if err := c.s.await(); err != nil {
		return fmt.Errorf("%w: %s", err, c.s.log.String())
	}
	return nil
}
