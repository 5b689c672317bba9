package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"io/fs"
	"net/url"
	"os"
	"path/filepath"

	"gorm.io/driver/sqlite"
	"gorm.io/gorm"
	modernc "modernc.org/sqlite"
	codes "modernc.org/sqlite/lib"

	"barrelbook/migrations"
)

// OpenSQLite opens the data file at path, and makes it, readable by its owner
// alone, when there is none.
//
// There are two pools. One connection writes: SQLite lets one write at a time,
// and waiting for a connection is fair where its own waiting for a lock is not.
// It begins each transaction with the lock, because a transaction that reads
// first and then finds the lock taken cannot wait, it fails. The others read,
// and cannot write by mistake.
func OpenSQLite(ctx context.Context, path string, o Options) (*Store, error) {
	if err := os.MkdirAll(filepath.Dir(path), 0o700); err != nil {
		return nil, err
	}
	release, err := lockFolder(path, false)
	if err != nil {
		return nil, err
	}
	defer release()
	if err := makePrivate(path); err != nil {
		return nil, err
	}
	dsn := sqliteDSN(path, o.Volatile)
	write, err := openPool(dsn+"&_txlock=immediate", 1)
	if err != nil {
		return nil, opening(path, err)
	}
	if o.MaxConns <= 0 {
		o.MaxConns = 4
	}
	read, err := openPool(dsn+"&_pragma=query_only(1)", o.MaxConns)
	if err != nil {
		return nil, errors.Join(opening(path, err), closePools(write))
	}
	s := &Store{dialect: migrations.SQLite, read: read, write: write, close: func() error { return closePools(read, write) }}
	if o.Migrate {
		if err := s.Migrate(ctx); err != nil {
			return nil, errors.Join(err, s.Close())
		}
	}
	return s, nil
}

// makePrivate makes the data file. SQLite gives its side files the mode of the
// data file.
func makePrivate(path string) error {
	f, err := os.OpenFile(path, os.O_CREATE|os.O_EXCL|os.O_RDWR, 0o600)
	if errors.Is(err, fs.ErrExist) {
		return nil
	}
	if err != nil {
		return err
	}
	return f.Close()
}

func sqliteDSN(path string, volatile bool) string {
	// FULL syncs at each commit: NORMAL could lose the last ones with the power.
	sync := "FULL"
	if volatile {
		sync = "OFF"
	}
	// Waiting comes first: to switch to the write-ahead log takes a lock.
	return "file:" + (&url.URL{Path: path}).EscapedPath() + "?_pragma=busy_timeout(10000)&_pragma=journal_mode(WAL)&_pragma=foreign_keys(1)" +
		"&_pragma=synchronous(" + sync + ")&_pragma=cache_size(-32000)&_dqs=0"
}

func openPool(dsn string, conns int) (*gorm.DB, error) {
	pool, err := sql.Open("sqlite", dsn)
	if err != nil {
		return nil, err
	}
	pool.SetMaxOpenConns(conns)
	pool.SetMaxIdleConns(conns)
	// Several processes that make one data file at once can find it locked
	// where SQLite does not wait: at the switch to the write-ahead log.
	if err := whileBusy(pool.Ping); err != nil {
		return nil, errors.Join(err, pool.Close())
	}
	db, err := gorm.Open(sqliteDialector{sqlite.Dialector{Conn: pool}}, config())
	if err != nil {
		return nil, errors.Join(err, pool.Close())
	}
	return db, nil
}

func closePools(dbs ...*gorm.DB) error {
	var errs []error
	for _, db := range dbs {
		pool, err := db.DB()
		if err == nil {
			err = pool.Close()
		}
		errs = append(errs, err)
	}
	return errors.Join(errs...)
}

// sqliteDialector is gorm's, which knows the errors of another driver only.
type sqliteDialector struct{ sqlite.Dialector }

// Translate names the constraint that an error is about.
func (sqliteDialector) Translate(err error) error {
	var e *modernc.Error
	if !errors.As(err, &e) {
		return err
	}
	switch e.Code() {
	case codes.SQLITE_CONSTRAINT_UNIQUE, codes.SQLITE_CONSTRAINT_PRIMARYKEY:
		return fmt.Errorf("%w: %w", gorm.ErrDuplicatedKey, err)
	case codes.SQLITE_CONSTRAINT_FOREIGNKEY:
		return fmt.Errorf("%w: %w", gorm.ErrForeignKeyViolated, err)
	case codes.SQLITE_CONSTRAINT_CHECK, codes.SQLITE_CONSTRAINT_TRIGGER:
		return fmt.Errorf("%w: %w", gorm.ErrCheckConstraintViolated, err)
	}
	return err
}
