// Package migrations holds the schema of both databases as SQL, one folder
// each with the same file names, and applies it. A change of the schema is a
// new pair of files; a file that has been released is never edited.
package migrations

import (
	"context"
	"database/sql"
	"embed"
	"errors"
	"fmt"
	"io/fs"
	"strings"
	"time"

	"github.com/pressly/goose/v3"
)

//go:embed postgres/*.sql sqlite/*.sql
var files embed.FS

// Dialect names a database and the folder with its schema.
type Dialect string

// The databases.
const (
	Postgres Dialect = "postgres"
	SQLite   Dialect = "sqlite"
)

// lockKey names the advisory lock that migrations take on PostgreSQL. Any
// number does, as long as nothing else in the database uses it.
const lockKey = 7_310_425_118

// Files gives the schema files of a database.
func Files(d Dialect) (fs.FS, error) { return fs.Sub(files, string(d)) }

// Provider runs the migrations of d on db one by one. The service uses Up, and
// what steps down uses DownTo.
func Provider(d Dialect, db *sql.DB) (*goose.Provider, error) {
	dir, err := Files(d)
	if err != nil {
		return nil, err
	}
	dialect := goose.DialectPostgres
	if d == SQLite {
		dialect = goose.DialectSQLite3
	}
	return goose.NewProvider(dialect, db, dir, goose.WithDisableGlobalRegistry(true),
		// Files are numbered by subject: a later one may have the smaller number.
		goose.WithAllowOutofOrder(true))
}

// Up brings the schema up to date. Any number of processes may call it at once
// on one database: each returns when the schema is current, and every migration
// is applied once. The seals of the tables are made with it. On PostgreSQL db must
// be able to open two connections that keep their session (a pool in transaction
// mode does not); on SQLite db is of the driver of package store.
func Up(ctx context.Context, d Dialect, db *sql.DB) error {
	if d == SQLite {
		return upSQLite(ctx, db)
	}
	// The lock is held by a connection of its own and blocks, where a lock of
	// the migration tool would poll.
	conn, err := db.Conn(ctx)
	if err != nil {
		return err
	}
	defer conn.Close()
	if _, err := conn.ExecContext(ctx, "SELECT pg_advisory_lock($1)", int64(lockKey)); err != nil {
		return fmt.Errorf("waiting for the lock on migrations: %w", err)
	}
	defer func() {
		// Without the caller's context, which may be done: a session that goes
		// back to the pool with the lock would hold up every later start.
		free, cancel := context.WithTimeout(context.Background(), 5*time.Second)
		defer cancel()
		_, _ = conn.ExecContext(free, "SELECT pg_advisory_unlock($1)", int64(lockKey))
	}()
	return up(ctx, d, db)
}

// upSQLite has no lock to wait on that would hold between processes, and tries
// again instead: each migration is one transaction, so that the loser of a race
// finds a table there already, changes nothing, and finds the work done on the
// next round.
func upSQLite(ctx context.Context, db *sql.DB) error {
	const rounds = 50
	for round := 1; ; round++ {
		err := up(ctx, SQLite, db)
		if err == nil || round == rounds || !lostRace(err) {
			return err
		}
		select {
		case <-ctx.Done():
			return ctx.Err()
		case <-time.After(time.Duration(round) * 2 * time.Millisecond):
		}
	}
}

func lostRace(err error) bool {
	text := err.Error()
	return strings.Contains(text, "already exists") || strings.Contains(text, "duplicate column name") || strings.Contains(text, "locked") ||
		strings.Contains(text, "UNIQUE constraint failed") || strings.Contains(text, "SQLITE_BUSY")
}

func up(ctx context.Context, d Dialect, db *sql.DB) error {
	have, want, err := Versions(ctx, d, db)
	if err != nil {
		return err
	}
	if have >= want {
		return seal(ctx, d, db)
	}
	if err := unseal(ctx, d, db); err != nil {
		return err
	}
	if err := mend(ctx, d, db); err != nil {
		return err
	}
	p, err := Provider(d, db)
	if err != nil {
		return err
	}
	if _, err = p.Up(ctx); err != nil {
		return err
	}
	return seal(ctx, d, db)
}

// DownTo steps the schema down to a version, for tests; what is sealed is sealed
// anew by the next Up.
func DownTo(ctx context.Context, d Dialect, db *sql.DB, version int64) error {
	if err := unseal(ctx, d, db); err != nil {
		return err
	}
	p, err := Provider(d, db)
	if err != nil {
		return err
	}
	_, err = p.DownTo(ctx, version)
	return err
}

// Versions gives the version of the schema of db, 0 when it is empty, and the
// one that this program brings. A schema that lacks one of this program's versions
// is at the version before it. It writes nothing.
func Versions(ctx context.Context, d Dialect, db *sql.DB) (have, want int64, err error) {
	if want, err = Latest(d); err != nil {
		return 0, 0, err
	}
	there := "SELECT to_regclass('goose_db_version') IS NOT NULL"
	if d == SQLite {
		there = "SELECT count(*) > 0 FROM sqlite_master WHERE type = 'table' AND name = 'goose_db_version'"
	}
	var exists bool
	if err = db.QueryRowContext(ctx, there).Scan(&exists); err != nil || !exists {
		return 0, want, err
	}
	rows, err := db.QueryContext(ctx, "SELECT version_id FROM goose_db_version WHERE is_applied AND version_id > 0")
	if err != nil {
		return 0, want, err
	}
	defer rows.Close()
	applied := map[int64]bool{}
	for rows.Next() {
		var version int64
		if err := rows.Scan(&version); err != nil {
			return 0, want, err
		}
		applied[version] = true
		have = max(have, version)
	}
	known, err := Known(d)
	for version := range known {
		if !applied[version] {
			have = min(have, version-1)
		}
	}
	return have, want, errors.Join(err, rows.Err())
}

// Latest is the version that this program brings: the number that the last file's name begins with.
func Latest(d Dialect) (int64, error) {
	names, err := fs.Glob(files, string(d)+"/*.sql")
	if err != nil {
		return 0, err
	}
	return goose.NumericComponent(names[len(names)-1])
}

// Known are the versions that this program brings.
func Known(d Dialect) (map[int64]bool, error) {
	names, err := fs.Glob(files, string(d)+"/*.sql")
	known := map[int64]bool{}
	for _, name := range names {
		version, err := goose.NumericComponent(name)
		if err != nil {
			return nil, err
		}
		known[version] = true
	}
	return known, err
}
