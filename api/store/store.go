// Package store keeps everything in SQLite or PostgreSQL. It satisfies the
// reader and writer of package port; no handle on the database leaves it. Rows and their
// mapping are in the file of their noun.
package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"math/rand/v2"
	"sync/atomic"
	"time"

	"gorm.io/gorm"

	"barrelbook/api/app/port"
	"barrelbook/migrations"
)

// Options are how a database is opened.
type Options struct {
	// Migrate brings the schema up to date while opening. Defaults to false:
	// then Ping says when it is behind.
	Migrate bool
	// Volatile gives up that what was acknowledged survives a loss of power, for
	// data that can be made again. Defaults to false.
	Volatile bool
	// MaxConns is the size of the pool of connections: of the readers on
	// SQLite, of all on PostgreSQL. Defaults to 4 on SQLite, 16 on PostgreSQL.
	MaxConns int
	// Machine is the clock of this machine. Defaults to time.Now.
	Machine func() time.Time
	// Now takes the place of the clock of the database. Defaults to that.
	Now func() time.Time
	// ReadOnly opens a data file to read it, whoever wrote it last, and makes
	// nothing. On PostgreSQL it only keeps this store from writing.
	ReadOnly bool
}

// Store is one open database.
type Store struct {
	dialect migrations.Dialect
	read    *gorm.DB
	write   *gorm.DB
	// snapshot is the isolation of Read.
	snapshot *sql.TxOptions
	close    func() error
	readOnly bool
	file     *dataFile // nil on PostgreSQL
	// ahead is by how much the clock of the database is ahead of this machine's,
	// in microseconds, as it was last read.
	ahead   atomic.Int64
	machine func() time.Time // nil for time.Now
	given   func() time.Time // nil for the clock of the database
	health  health
	// settings are those last read.
	settings atomic.Pointer[port.Settings]
	states   keptStates
	news     news
}

var _ port.Store = (*Store)(nil)

// Close gives the connections back. What is under way ends first.
func (s *Store) Close() error { return s.close() }

// Kind is "embedded" or "postgresql".
func (s *Store) Kind() string {
	if s.dialect == migrations.SQLite {
		return "embedded"
	}
	return "postgresql"
}

// Read gives a consistent view: everything fn reads is of one moment.
func (s *Store) Read(ctx context.Context, fn func(port.Reader) error) error {
	err := s.read.WithContext(ctx).Transaction(func(tx *gorm.DB) error {
		return fn(s.reader(tx))
	}, s.snapshot)
	return translate(err)
}

// Look runs fn without a transaction, which is two statements more: for what asks
// one.
func (s *Store) Look(ctx context.Context, fn func(port.Reader) error) error {
	return translate(fn(s.reader(s.read.WithContext(ctx))))
}

func (s *Store) reader(db *gorm.DB) *reader {
	return &reader{db: db, dialect: s.dialect, kept: &s.settings, states: &s.states}
}

// Write runs fn in one transaction. On SQLite there is one writer at a time;
// on PostgreSQL fn runs again, at most retries times, when the database took it
// back because of another transaction. fn must not call Read or Write: the one
// connection that writes SQLite is its own.
func (s *Store) Write(ctx context.Context, fn func(port.Writer) error) error {
	const retries = 8
	if s.readOnly {
		return errReadOnly
	}
	for try := 1; ; try++ {
		told := false
		err := s.write.WithContext(ctx).Transaction(func(tx *gorm.DB) error {
			w := &writer{reader: reader{db: tx, dialect: s.dialect, kept: &s.settings, writes: true}, store: s}
			if err := fn(w); err != nil {
				return err
			}
			told = len(w.untold) > 0
			return w.writeEvents()
		}, &sql.TxOptions{Isolation: s.writeIsolation()})
		if !takenBack(err) || try > retries {
			err = translate(err)
			if err == nil || port.IsKind(err, port.Unavailable) {
				s.health.heard(err)
			}
			if told { // also where it is not known whether it was kept
				s.news.spread()
			}
			return err
		}
		// A wait of random length, growing, so that the same two do not meet again.
		wait := time.Duration(1+rand.IntN(5<<min(try, 6))) * time.Millisecond
		select {
		case <-ctx.Done():
			return ctx.Err()
		case <-time.After(wait):
		}
	}
}

// writeIsolation is READ COMMITTED with row locks on PostgreSQL. SQLite is
// serial anyway and its driver knows no other word for that.
func (s *Store) writeIsolation() sql.IsolationLevel {
	if s.dialect == migrations.SQLite {
		return sql.LevelDefault
	}
	return sql.LevelReadCommitted
}

// Migrate brings the schema up to date. Any number of processes may do so at
// once.
func (s *Store) Migrate(ctx context.Context) error {
	if s.readOnly {
		return errReadOnly
	}
	db, err := s.write.DB()
	if err != nil {
		return err
	}
	before, _, err := migrations.Versions(ctx, s.dialect, db)
	if err != nil {
		return fmt.Errorf("the database does not answer: %w", err)
	}
	if err := migrations.Up(ctx, s.dialect, db); err != nil {
		return fmt.Errorf("bringing the schema of the database up to date: %w", err)
	}
	if err := s.sign(ctx, db); err != nil {
		return err
	}
	if before > 0 && before < grindsSince {
		if err := s.fillGrinds(ctx); err != nil {
			return err
		}
	}
	return errors.Join(s.reproject(ctx), s.noteProgram(ctx))
}

// reader and writer are the handles that a transaction gives out. Each query
// starts from db, which carries the transaction and its context and no clause.
type reader struct {
	db      *gorm.DB
	dialect migrations.Dialect
	kept    *atomic.Pointer[port.Settings] // nil keeps none
	states  *keptStates
	writes  bool // in a transaction that writes
	// ownSettings is true once the transaction has written settings.
	ownSettings bool
}

// row sends a statement that gives one row past gorm, through its connection.
func (r *reader) row(statement string, args ...any) *sql.Row {
	return r.db.Statement.ConnPool.QueryRowContext(r.ctx(), statement, args...)
}

// Err implements port.Reader.
func (r *reader) Err() error { return r.ctx().Err() }

type writer struct {
	reader
	store  *Store
	now    time.Time // last read in this transaction
	untold []untold
}

var _ port.Writer = (*writer)(nil)

// config is the same for both databases. PrepareStmt stays off: prepared
// statements of a transaction would be prepared again in each.
func config() *gorm.Config {
	return &gorm.Config{
		TranslateError:         true,
		SkipDefaultTransaction: true,
		Logger:                 silent,
		NowFunc:                func() time.Time { return time.Now().UTC().Truncate(time.Microsecond) },
	}
}
