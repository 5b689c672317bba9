package pgtest

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"net/url"
	"os"
	"strings"
	"sync"
	"sync/atomic"
	"testing"

	"github.com/jackc/pgx/v5"
	_ "github.com/jackc/pgx/v5/stdlib" // the driver "pgx" that migrates the template

	"barrelbook/migrations"
)

// host is the server of this test binary, made when the first test asks.
var host struct {
	once     sync.Once
	err      error
	own      *server // nil when the server was given
	given    string
	template string
	count    atomic.Int64
}

// Main runs the tests of a package and stops the server after them. Call it
// from TestMain: func TestMain(m *testing.M) { os.Exit(pgtest.Main(m)) }.
func Main(m *testing.M) int {
	defer func() {
		if host.own != nil {
			host.own.stop()
		} else if host.given != "" && host.template != "" {
			_ = admin(context.Background(), "DROP DATABASE IF EXISTS "+host.template)
		}
	}()
	return m.Run()
}

// DSN is the address of a fresh database with the current schema. Without a
// PostgreSQL the test is skipped, and fails where CI is set: there it must run.
func DSN(t testing.TB) string {
	t.Helper()
	prepare(t)
	return create(t, " TEMPLATE "+host.template+copyStrategy())
}

// CopyDSN is the address of a copy of a database that DSN gave, which nobody may
// have open.
func CopyDSN(t testing.TB, dsn string) string {
	t.Helper()
	prepare(t)
	settings, err := pgx.ParseConfig(dsn)
	if err != nil {
		t.Fatal(err)
	}
	return create(t, " TEMPLATE "+settings.Database+copyStrategy())
}

// EmptyDSN is the address of a fresh database without a schema.
func EmptyDSN(t testing.TB) string {
	t.Helper()
	prepare(t)
	return create(t, "")
}

func prepare(t testing.TB) {
	t.Helper()
	host.once.Do(func() { host.err = boot() })
	switch {
	case host.err == nil:
	case errors.Is(host.err, errNoBinaries) && os.Getenv("CI") == "":
		t.Skipf("NOT TESTED ON POSTGRESQL: %v", host.err)
	default:
		t.Fatalf("PostgreSQL for the tests: %v", host.err)
	}
}

// boot finds or starts the server and makes the template that the databases of
// the tests are copied from.
func boot() error {
	host.given = os.Getenv("BARRELBOOK_TEST_POSTGRES")
	if host.given == "" {
		var err error
		if host.own, err = start("/tmp", notSynced...); err != nil {
			return err
		}
	}
	host.template = name("template")
	ctx := context.Background()
	if err := admin(ctx, "CREATE DATABASE "+host.template); err != nil {
		return err
	}
	return migrate(address(host.template))
}

// migrate brings a database up to date and leaves it: nobody may be connected to
// a template that is copied.
func migrate(dsn string) error {
	db, err := sql.Open("pgx", dsn)
	if err != nil {
		return err
	}
	return errors.Join(migrations.Up(context.Background(), migrations.Postgres, db), db.Close())
}

func create(t testing.TB, from string) string {
	t.Helper()
	database := name("test")
	if err := admin(t.Context(), "CREATE DATABASE "+database+from); err != nil {
		t.Fatalf("making a database for the test: %v", err)
	}
	if host.own == nil { // a server of our own goes with all that is on it
		t.Cleanup(func() {
			if err := admin(context.Background(), "DROP DATABASE IF EXISTS "+database+" WITH (FORCE)"); err != nil {
				t.Errorf("dropping the database of the test: %v", err)
			}
		})
	}
	return address(database)
}

func name(part string) string {
	return fmt.Sprintf("barrelbook_%s_%d_%d", part, os.Getpid(), host.count.Add(1))
}

// copyStrategy copies files rather than writing each page to the log, which
// is quicker where nothing is synced.
func copyStrategy() string {
	if host.own != nil {
		return " STRATEGY FILE_COPY"
	}
	return ""
}

func admin(ctx context.Context, statement string) error {
	dsn := host.given
	if host.own != nil {
		dsn = host.own.dsn("postgres")
	}
	conn, err := pgx.Connect(ctx, dsn)
	if err != nil {
		return err
	}
	_, err = conn.Exec(ctx, statement)
	return errors.Join(err, conn.Close(ctx))
}

// address is the given server's with another database.
func address(database string) string {
	if host.own != nil {
		return host.own.dsn(database)
	}
	if u, err := url.Parse(host.given); err == nil && strings.HasPrefix(u.Scheme, "postgres") {
		u.Path = "/" + database
		return u.String()
	}
	return host.given + " dbname=" + database // of two, the last one counts
}
