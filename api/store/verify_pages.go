package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"slices"
	"strings"

	"github.com/jackc/pgx/v5/pgconn"
	modernc "modernc.org/sqlite"
	codes "modernc.org/sqlite/lib"

	"barrelbook/migrations"
)

// unreadable says whether an error tells of what is kept, and not of the way to it:
// pages that cannot be read, and values that are none of their column.
func unreadable(err error) bool {
	var lite *modernc.Error
	if errors.As(err, &lite) {
		switch lite.Code() & 0xff {
		case codes.SQLITE_BUSY, codes.SQLITE_LOCKED, codes.SQLITE_IOERR, codes.SQLITE_CANTOPEN, codes.SQLITE_NOMEM, codes.SQLITE_INTERRUPT, codes.SQLITE_FULL:
			return false
		}
		return true
	}
	var post *pgconn.PgError
	if errors.As(err, &post) {
		return slices.Contains([]string{"XX001", "XX002", "22021", "22P02"}, post.Code) // corrupted data, index or text
	}
	return strings.Contains(err.Error(), "sql: Scan error")
}

// verifySchema checks that the tables are those of a version that this program
// knows.
func (s *Store) verifySchema(ctx context.Context) ([]error, error) {
	db, err := s.read.DB()
	if err != nil {
		return nil, err
	}
	have, want, err := migrations.Versions(ctx, s.dialect, db)
	switch {
	case err != nil:
		return nil, err
	case s.readOnly && s.file.lostLog(): // who writes to it has it noted in the audit
		return []error{&Damage{Table: "data file", Why: lostLogText}}, nil
	case have == 0:
		return []error{&Damage{Table: "schema", Why: "there is none: no works has been kept here"}}, nil
	case have > want:
		return []error{&Damage{Table: "schema", Why: fmt.Sprintf("it is at version %d, which a newer program made; this one knows %d: verify with the newer one", have, want)}}, nil
	}
	return s.verifyVersions(ctx, db, have)
}

// verifyVersions checks the list of migrations: each once, none left out.
func (s *Store) verifyVersions(ctx context.Context, db *sql.DB, have int64) ([]error, error) {
	known, err := migrations.Known(s.dialect)
	if err != nil {
		return nil, err
	}
	rows, err := db.QueryContext(ctx, "SELECT version_id, count(*), min(CASE WHEN is_applied THEN 1 ELSE 0 END) FROM goose_db_version GROUP BY version_id ORDER BY version_id")
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	applied := map[int64]bool{}
	var found []error
	for rows.Next() {
		var version, times, whole int64
		if err := rows.Scan(&version, &times, &whole); err != nil {
			return found, err
		}
		if applied[version] = true; times != 1 || whole != 1 || version != 0 && !known[version] {
			found = append(found, &Damage{Table: "goose_db_version", Key: fmt.Sprintf("version %d", version), Why: "no program wrote this"})
		}
	}
	for version := range known {
		if version <= have && !applied[version] {
			found = append(found, &Damage{Table: "goose_db_version", Key: fmt.Sprintf("version %d", version), Why: "it is missing below a later one"})
		}
	}
	return found, rows.Err()
}

// verifyPages checks what lies below the tables.
func (s *Store) verifyPages(ctx context.Context) ([]error, error) {
	db, err := s.read.DB()
	if err != nil {
		return nil, err
	}
	if s.dialect == migrations.SQLite {
		return listed(ctx, db, "PRAGMA integrity_check(20)", "ok")
	}
	return verifyIndexes(ctx, db)
}

// listed gives what a check of the database lists, but for the word for "nothing".
func listed(ctx context.Context, db *sql.DB, query, nothing string) ([]error, error) {
	rows, err := db.QueryContext(ctx, query)
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	var found []error
	for rows.Next() {
		var text string
		if err := rows.Scan(&text); err != nil {
			return found, err
		}
		if text != nothing {
			found = append(found, &Damage{Table: "data file", Why: text})
		}
	}
	return found, rows.Err()
}

// verifyIndexes holds every index against its table by counting: with the index
// and without. Where the extension amcheck is there, its check is made too.
func verifyIndexes(ctx context.Context, db *sql.DB) ([]error, error) {
	tx, err := db.BeginTx(ctx, &sql.TxOptions{Isolation: sql.LevelRepeatableRead, ReadOnly: true})
	if err != nil {
		return nil, err
	}
	defer func() { _ = tx.Rollback() }()
	var amcheck bool
	if err := tx.QueryRowContext(ctx, "SELECT EXISTS (SELECT 1 FROM pg_extension WHERE extname = 'amcheck')").Scan(&amcheck); err != nil {
		return nil, err
	}
	tables, err := names(ctx, tx, "SELECT table_name FROM information_schema.tables WHERE table_schema = current_schema() AND table_type = 'BASE TABLE' ORDER BY 1")
	if err != nil {
		return nil, err
	}
	var found []error
	for _, table := range tables {
		var plain, indexed int64
		for _, way := range []struct {
			set  string
			into *int64
		}{{"SET LOCAL enable_seqscan = on; SET LOCAL enable_indexonlyscan = off; SET LOCAL enable_indexscan = off; SET LOCAL enable_bitmapscan = off", &plain},
			{"SET LOCAL enable_seqscan = off; SET LOCAL enable_indexonlyscan = on; SET LOCAL enable_indexscan = on; SET LOCAL enable_bitmapscan = on", &indexed}} {
			if _, err := tx.ExecContext(ctx, way.set); err != nil {
				return found, err
			}
			if err := tx.QueryRowContext(ctx, "SELECT count(*) FROM "+table).Scan(way.into); err != nil {
				return found, err
			}
		}
		if plain != indexed {
			found = append(found, &Damage{Table: table, Key: "its index", Why: fmt.Sprintf("the table has %d rows and its index %d", plain, indexed)})
		}
	}
	if !amcheck {
		return found, nil
	}
	_, err = tx.ExecContext(ctx, `SELECT bt_index_check(c.oid, true) FROM pg_index i JOIN pg_class c ON c.oid = i.indexrelid JOIN pg_am a ON a.oid = c.relam
		WHERE a.amname = 'btree' AND c.relnamespace = current_schema()::regnamespace AND i.indisvalid`)
	return found, err
}

// names reads one column of texts.
func names(ctx context.Context, tx *sql.Tx, query string) ([]string, error) {
	rows, err := tx.QueryContext(ctx, query)
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	var all []string
	for rows.Next() {
		var name string
		if err := rows.Scan(&name); err != nil {
			return nil, err
		}
		all = append(all, name)
	}
	return all, rows.Err()
}
