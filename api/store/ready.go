package store

import (
	"context"
	"errors"
	"fmt"
	"sync/atomic"

	"gorm.io/gorm"

	"barrelbook/api/app/port"
	"barrelbook/migrations"
)

// health is whether the last writing worked.
type health struct{ writes atomic.Bool }

// heard notes how a writing ended. Only a failure of the database counts, not
// a refusal.
func (h *health) heard(err error) {
	h.writes.Store(!port.IsKind(err, port.Unavailable))
}

// Ping answers whether the database answers and its schema is not behind this
// program, and whether it can be written: after a writing failed for want of
// the database, and before the first one, it writes something. A schema that is
// ahead is let pass: migrations only add, and while replicas are exchanged one
// by one the old ones must go on.
func (s *Store) Ping(ctx context.Context) error {
	if err := s.pingSchema(ctx); err != nil || s.health.writes.Load() {
		return err
	}
	err := s.write.WithContext(ctx).Transaction(probe)
	if err != nil {
		if away := unavailable(err); away != nil {
			return away
		}
		return fmt.Errorf("writing to the database: %w", err)
	}
	s.health.writes.Store(true)
	return nil
}

// Current says whether the schema is that of this version; it writes nothing.
func (s *Store) Current(ctx context.Context) bool { return s.pingSchema(ctx) == nil }

func (s *Store) pingSchema(ctx context.Context) error {
	db, err := s.read.DB()
	if err != nil {
		return err
	}
	have, want, err := migrations.Versions(ctx, s.dialect, db)
	if err == nil {
		err = s.setClock(ctx)
	}
	if err != nil {
		if away := unavailable(err); away != nil {
			return away
		}
		return fmt.Errorf("the database does not answer: %w", err)
	}
	if have < want {
		return fmt.Errorf("%w: it is at version %d and this program needs %d; bring it up to date: barrelbookd migrate up", errBehind, have, want)
	}
	return nil
}

var errBehind = errors.New("the schema of the database is behind")

// probeBytes is more than a page of either database, so that a full disk cannot
// take it in what room is left in one.
const probeBytes = 64 << 10

// probe writes a row that says nothing over the one before it.
func probe(tx *gorm.DB) error {
	return tx.Exec("INSERT INTO probes (id, filler) VALUES (1, ?) ON CONFLICT (id) DO UPDATE SET filler = excluded.filler", make([]byte, probeBytes)).Error
}
