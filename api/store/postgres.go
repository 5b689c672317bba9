package store

import (
	"context"
	"database/sql"
	"fmt"

	"github.com/jackc/pgx/v5/pgxpool"
	"github.com/jackc/pgx/v5/stdlib"
	"gorm.io/driver/postgres"
	"gorm.io/gorm"

	"barrelbook/migrations"
)

// OpenPostgres opens a PostgreSQL database, 15 or later, by a connection string
// or URL. Connections are made as they are needed: Ping tells whether it answers.
func OpenPostgres(ctx context.Context, dsn string, o Options) (*Store, error) {
	settings, err := pgxpool.ParseConfig(dsn)
	if err != nil {
		return nil, fmt.Errorf("reading the address of the database: %w", err)
	}
	settings.MaxConns = 16
	if o.MaxConns > 0 {
		settings.MaxConns = int32(max(o.MaxConns, 2)) // migrations hold one and use another
	}
	preset(settings, "application_name", "barrelbook")
	settings.ConnConfig.RuntimeParams[migrations.WriterSetting] = "on"
	// A client that froze inside a transaction must not hold its rolls for ever.
	preset(settings, "idle_in_transaction_session_timeout", "60s")
	if o.Volatile {
		preset(settings, "synchronous_commit", "off")
	}
	pool, err := pgxpool.NewWithConfig(ctx, settings)
	if err != nil {
		return nil, fmt.Errorf("opening the database: %w", err)
	}
	conns := stdlib.OpenDBFromPool(pool)
	db, err := gorm.Open(postgres.New(postgres.Config{Conn: conns}), config())
	if err != nil {
		pool.Close()
		return nil, fmt.Errorf("opening the database: %w", err)
	}
	s := &Store{dialect: migrations.Postgres, machine: o.Machine, given: o.Now, read: db, write: db, readOnly: o.ReadOnly,
		snapshot: &sql.TxOptions{Isolation: sql.LevelRepeatableRead, ReadOnly: true},
		close: func() error {
			err := conns.Close()
			pool.Close()
			return err
		}}
	if o.Migrate {
		if err := s.Migrate(ctx); err != nil {
			_ = s.Close()
			return nil, err
		}
	}
	return s, nil
}

// preset gives a setting of the session that the address does not give itself.
func preset(settings *pgxpool.Config, name, value string) {
	params := settings.ConnConfig.RuntimeParams
	if _, given := params[name]; !given {
		params[name] = value
	}
}
