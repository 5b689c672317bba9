package store

import (
	"context"
	"time"

	"gorm.io/gorm"

	"barrelbook/migrations"
)

// Now is the moment by the clock of the database, as far as it is known without
// asking: that of this machine and by how much the database was ahead of it when
// last asked, as each transaction that writes does.
func (s *Store) Now() time.Time {
	if s.given != nil {
		return s.given().UTC().Truncate(time.Microsecond)
	}
	return s.here().Add(time.Duration(s.ahead.Load()) * time.Microsecond).UTC().Truncate(time.Microsecond)
}

// Now reads the clock. On SQLite the machine and the database are one.
func (w *writer) Now() (time.Time, error) {
	now, err := w.store.readClock(w.db)
	w.now = now
	return now, err
}

// setClock reads the clock once, so that what is read before the first writing
// is told by it too.
func (s *Store) setClock(ctx context.Context) error {
	_, err := s.readClock(s.read.WithContext(ctx))
	return err
}

// here is the moment by the clock of this machine.
func (s *Store) here() time.Time {
	if s.machine != nil {
		return s.machine()
	}
	return time.Now()
}

func (s *Store) readClock(db *gorm.DB) (time.Time, error) {
	if s.given != nil {
		return s.Now(), nil
	}
	if s.dialect == migrations.SQLite {
		return s.here().UTC().Truncate(time.Microsecond), nil
	}
	var us int64
	if err := db.Raw("SELECT CAST(extract(epoch FROM clock_timestamp()) * 1000000 AS BIGINT)").Scan(&us).Error; err != nil {
		return time.Time{}, err
	}
	s.ahead.Store(us - s.here().UnixMicro())
	return moment(us), nil
}
