package store_test

import (
	"database/sql"
	"errors"
	"fmt"
	"testing"
	"time"

	"barrelbook/api/app/port"
	"barrelbook/api/store"
	"barrelbook/api/store/pgtest"
	"barrelbook/domain/mill"
)

// stores runs a benchmark on both databases, SQLite syncing each commit as it
// does by default. PostgreSQL is the throwaway one, which does not: its figures
// are for comparison with the baseline beside them.
func stores(b *testing.B, bench func(b *testing.B, s *store.Store, raw *sql.DB)) {
	b.Run("sqlite", func(b *testing.B) {
		path := tempFile(b)
		s, err := store.OpenSQLite(b.Context(), path, store.Options{Migrate: true})
		opened(b, s, err)
		bench(b, s, rawDB(b, store.SQLiteDriver, "file:"+path+"?_pragma=busy_timeout(5000)&_pragma=synchronous(FULL)&_txlock=immediate"))
	})
	b.Run("postgres", func(b *testing.B) {
		dsn := pgtest.DSN(b)
		bench(b, openPostgres(b, dsn), rawDB(b, "pgx", dsn))
	})
}

func benchWorks(b *testing.B, s *store.Store, entries int) {
	err := s.Write(b.Context(), func(w port.Writer) error {
		return errors.Join(w.CreateMill(mill.Mill{Name: "HSM", Kind: mill.HotStrip}), w.CreateStand(mill.Stand{Name: "F1", Mill: "HSM", Arrangement: mill.FourHigh}))
	})
	for i := 0; i < entries && err == nil; i++ {
		err = appendOne(b.Context(), s, "W1")
	}
	if err != nil {
		b.Fatal(err)
	}
}

// BenchmarkAppend records one entry: lock, read, decide, write entry and
// projection. The baseline is the same two statements bare.
func BenchmarkAppend(b *testing.B) {
	stores(b, func(b *testing.B, s *store.Store, raw *sql.DB) {
		benchWorks(b, s, 1)
		b.Run("store", func(b *testing.B) {
			for b.Loop() {
				if err := appendOne(b.Context(), s, "W1"); err != nil {
					b.Fatal(err)
				}
			}
		})
		b.Run("bare", func(b *testing.B) {
			n := 1_000_000
			for b.Loop() {
				n++
				if err := bareAppend(b, raw, n); err != nil {
					b.Fatal(err)
				}
			}
		})
	})
}

func bareAppend(b *testing.B, raw *sql.DB, n int) error {
	tx, err := raw.BeginTx(b.Context(), nil)
	if err != nil {
		return err
	}
	defer func() { _ = tx.Rollback() }()
	var state string
	if err := tx.QueryRow("SELECT state FROM roll_states WHERE number = $1", "W1").Scan(&state); err != nil {
		return err
	}
	if _, err := tx.Exec("UPDATE roll_states SET state = $1, hash = $2 WHERE number = $3", state, "h", "W1"); err != nil {
		return err
	}
	_, err = tx.Exec("INSERT INTO entries VALUES ($1, $2, 'inspected', 1, 1, 'a', '', '{}', 'h')", "bare", n)
	return errors.Join(err, tx.Commit())
}

// BenchmarkReadRoll reads a roll's state with a short book and a long one: the
// cost must not grow with the book.
func BenchmarkReadRoll(b *testing.B) {
	stores(b, func(b *testing.B, s *store.Store, raw *sql.DB) {
		entries := 0
		for _, size := range []int{100, 10_000} {
			if entries == 0 {
				benchWorks(b, s, size)
			}
			for ; entries > 0 && entries < size; entries++ {
				if err := appendOne(b.Context(), s, "W1"); err != nil {
					b.Fatal(err)
				}
			}
			entries = size
			b.Run(fmt.Sprintf("entries=%d", size), func(b *testing.B) {
				for b.Loop() {
					err := s.Read(b.Context(), func(r port.Reader) error { _, err := r.Roll("W1"); return err })
					if err != nil {
						b.Fatal(err)
					}
				}
			})
		}
		b.Run("bare", func(b *testing.B) {
			for b.Loop() {
				var state, totals string
				if err := raw.QueryRow("SELECT state, totals FROM roll_states WHERE number = $1", "W1").Scan(&state, &totals); err != nil {
					b.Fatal(err)
				}
			}
		})
	})
}

// BenchmarkInsertPieces keeps 10 000 new pieces of seven passes in one
// transaction.
func BenchmarkInsertPieces(b *testing.B) {
	stores(b, func(b *testing.B, s *store.Store, _ *sql.DB) {
		benchWorks(b, s, 0)
		const many = 10_000
		batch := make([]mill.Piece, many)
		round := 0
		for b.Loop() {
			b.StopTimer()
			round++
			for i := range batch {
				batch[i] = mill.Piece{Source: "level2", ID: fmt.Sprintf("R%d-%d", round, i), Mill: "HSM", RolledAt: time.UnixMicro(int64(round*many + i)), MassT: 20, WidthMM: 1250, EntryThicknessMM: 35}
				for f := range 7 {
					batch[i].Passes = append(batch[i].Passes, mill.Pass{Stand: "F1", EntryThicknessMM: 35, ExitThicknessMM: 30 - float64(f), WidthMM: 1250, ForceKN: 15000.5, SpeedMPerS: 2.5, TemperatureC: 980})
				}
			}
			b.StartTimer()
			err := s.Write(b.Context(), func(w port.Writer) error { _, err := w.InsertPieces(batch); return err })
			if err != nil {
				b.Fatal(err)
			}
		}
		b.ReportMetric(float64(many)*float64(b.N)/b.Elapsed().Seconds(), "pieces/s")
	})
}
