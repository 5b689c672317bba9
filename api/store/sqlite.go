package store

import (
	"cmp"
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
// alone, when there is none and it is opened to write.
//
// There are two pools. One connection writes: SQLite lets one write at a time,
// and waiting for a connection is fair where its own waiting for a lock is not.
// It begins each transaction with the lock, because a transaction that reads
// first and then finds the lock taken cannot wait, it fails. The others read,
// and cannot write by mistake.
//
// The file of another program and one that a newer version has written are
// refused, the latter not to read.
func OpenSQLite(ctx context.Context, path string, o Options) (*Store, error) {
	if o.ReadOnly {
		return readSQLite(path, o)
	}
	if err := os.MkdirAll(filepath.Dir(path), 0o700); err != nil {
		return nil, err
	}
	release, err := lockFolder(path, false)
	if err != nil {
		return nil, err
	}
	defer release()
	sweep(path)
	if err := makePrivate(path); err != nil {
		return nil, err
	}
	file, err := claim(path)
	if err != nil {
		return nil, err
	}
	if err := file.mayWrite(); err != nil {
		return nil, errors.Join(err, file.release())
	}
	dsn := sqliteDSN(path, o.Volatile)
	write, err := openPool(dsn+"&_txlock=immediate", 1)
	if err != nil {
		return nil, errors.Join(opening(path, err), file.release())
	}
	read, err := openPool(dsn+"&_pragma=query_only(1)", cmp.Or(max(o.MaxConns, 0), 4))
	if err != nil {
		return nil, errors.Join(opening(path, err), closePools(write), file.release())
	}
	s := &Store{dialect: migrations.SQLite, machine: o.Machine, given: o.Now, read: read, write: write, file: file}
	s.close = func() error { return errors.Join(closePools(read), settle(write), closePools(write), file.release()) }
	if err := s.own(ctx); err != nil {
		return nil, errors.Join(err, s.Close())
	}
	if o.Migrate {
		if err := s.Migrate(ctx); err != nil {
			return nil, errors.Join(err, s.Close())
		}
	}
	return s, nil
}

// readSQLite opens a data file that is only read: it makes nothing, neither the
// file nor anything beside it, and may lie on a medium that cannot be written.
func readSQLite(path string, o Options) (*Store, error) {
	file, err := claim(path)
	if err != nil {
		return nil, err
	}
	dsn := "file:" + (&url.URL{Path: path}).EscapedPath() + "?mode=ro&_pragma=busy_timeout(10000)&_pragma=query_only(1)&_pragma=cache_size(-32000)&_dqs=0"
	if !file.hasLog() {
		dsn += "&immutable=1" // nobody writes to it: whoever does has a log beside it
	}
	read, err := openPool(dsn, cmp.Or(max(o.MaxConns, 0), 4))
	if err != nil {
		return nil, errors.Join(opening(path, err), file.release())
	}
	return &Store{dialect: migrations.SQLite, machine: o.Machine, given: o.Now, read: read, write: read, readOnly: true, file: file,
		close: func() error { return errors.Join(closePools(read), file.release()) }}, nil
}

// settle takes the file out of the write-ahead log, where nobody else has it open.
// One that is in it and has no log beside it is then a copy that was made without.
func settle(write *gorm.DB) error {
	pool, err := write.DB()
	if err != nil {
		return err
	}
	var mode string
	// Not to wait: where another has it open, that one will settle it.
	_, _ = pool.Exec("PRAGMA busy_timeout(0)")
	if err := pool.QueryRow("PRAGMA journal_mode=DELETE").Scan(&mode); err != nil && !busy(err) {
		return err
	}
	return nil
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
	pool, err := sql.Open(SQLiteDriver, dsn)
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
