package migrations

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"slices"
	"strings"
)

// source is a table whose rows are sealed: for each part of it, a shard, the seals
// hold how many rows there are and the exclusive or of their digests. That does
// not depend on the order of writing, and a row is added or taken out without
// reading the others.
type source struct {
	table string
	// shard is an expression over the columns, each written @.column, in the SQL of
	// both databases. What can only be found wrong together is one shard: a row, a
	// book, an hour of pieces.
	shard string
	// lanes lets several at once write to a shard.
	lanes bool
}

const hour = " || ' ' || (@.%s / 3600000000)"

// sources are the tables whose shards are chosen. Every other table is one shard,
// so that a new one is sealed from its first row.
var sources = []source{
	{table: "mills", shard: "@.name"},
	{table: "stands", shard: "@.name"},
	{table: "grades", shard: "@.name"},
	{table: "practices", shard: "@.name || ' ' || @.version"},
	{table: "entries", shard: "@.roll"},
	{table: "roll_states", shard: "@.number"},
	{table: "roll_damage", shard: "@.roll"},
	{table: "stay_damage", shard: "@.roll"},
	{table: "grinds", shard: "@.roll"},
	{table: "sets", shard: "@.name"},
	{table: "mountings", shard: "@.roll || ' ' || @.id"},
	{table: "changes", shard: "@.name"},
	{table: "incidents", shard: "@.name"},
	{table: "pieces", shard: "@.mill" + fmt.Sprintf(hour, "rolled_at"), lanes: true},
	{table: "piece_counts", shard: "@.mill"},
	{table: "campaigns", shard: "@.name"},
	{table: "tokens", shard: "@.name"},
	{table: "audit", shard: "''" + fmt.Sprintf(hour, "happened_at"), lanes: true},
	{table: "answers", shard: "''" + fmt.Sprintf(hour, "answered_at"), lanes: true},
	{table: "events", shard: "''" + fmt.Sprintf(hour, "recorded_at"), lanes: true},
	{table: "forecasts", shard: "@.kind" + fmt.Sprintf(hour, "asked_at"), lanes: true},
	{table: "webhooks", shard: "@.name"},
	{table: "wear_rates", shard: "@.version || ''"},
	{table: "wear_rate_parts", shard: "@.mill || ' ' || @.role || ' ' || @.grade || ' ' || @.stand || ' ' || @.version"},
	{table: "chocks", shard: "@.name"},
	{table: "chock_entries", shard: "@.chock"},
}

// unsealed are the tables that the seals are about or that are not the works'.
var unsealed = []string{"revisions", "seals", "seal_sources", "goose_db_version", "sqlite_sequence", "sqlite_stat1", "sqlite_stat4"}

// sealRules counts the changes of sources: at the first start by another count the
// tables whose rule has changed are sealed anew.
const sealRules = 1

// sealedAt is what is noted when all tables are sealed.
func sealedAt(version string, rules int) string {
	return fmt.Sprintf("schema %s, rules %d", version, rules)
}

// firstSealed are the tables of sources when the list itself was noted.
var firstSealed = strings.Fields(`mills stands grades practices entries roll_states roll_damage stay_damage grinds sets mountings changes incidents pieces
	piece_counts campaigns tokens audit answers forecasts wear_rates wear_rate_parts chocks chock_entries`)

// sealedBy says whether this is noted by any program there was, for a schema.
func sealedBy(rule, version string) bool {
	for rules := 1; rules <= sealRules; rules++ {
		if rule == sealedAt(version, rules) {
			return true
		}
	}
	// The first programs noted the list itself, with the tables of their time.
	for _, without := range []string{"", "stay_damage"} {
		first := slices.DeleteFunc(slices.Clone(sources), func(s source) bool { return s.table == without || !slices.Contains(firstSealed, s.table) })
		if rule == fmt.Sprintf("schema %s, %v", version, first) {
			return true
		}
	}
	return false
}

// newest is the greatest version applied: of the database alone, whatever this
// program brings beside it.
func newest(ctx context.Context, db querier) (string, error) {
	version, err := texts(ctx, db, "SELECT CAST(coalesce(max(version_id), 0) AS TEXT) FROM goose_db_version WHERE is_applied")
	return strings.Join(version, ""), err
}

// sourceOf is how a table is sealed.
func sourceOf(table string) source {
	i := slices.IndexFunc(sources, func(s source) bool { return s.table == table })
	if i < 0 {
		return source{table: table, shard: "''", lanes: true}
	}
	return sources[i]
}

// over writes the shard over an alias of the table.
func (s source) over(alias string) string { return strings.ReplaceAll(s.shard, "@", alias) }

// sealer is what differs between the databases.
type sealer interface {
	// tables lists the tables there are.
	tables() string
	// columns lists the columns of a table that hold values of their own.
	columns() string
	// lock keeps other writers off a table until the transaction ends.
	lock(table string) string
	// digest is the digest of a row under an alias, xor the aggregate of digests,
	// both that of two.
	digest(alias string, columns []string) string
	xor(digest string) string
	both(a, b string) string
	zero() string
	// text writes a digest in letters.
	text(digest string) string
	temporary(name, query string) string
	// triggers are the statements that make and remove those of a table.
	triggers(s source, columns []string) (make, remove []string)
}

func sealerOf(d Dialect) sealer {
	if d == SQLite {
		return sqliteSealer{}
	}
	return postgresSealer{}
}

// rule tells one way of sealing a table from another: where it has changed, or the
// columns have, the table is sealed anew.
func (s source) rule(columns []string) string {
	return "1 " + s.shard + ": " + strings.Join(columns, " ")
}

// seal makes the triggers of every table that lacks them, and seals what is there.
// Each table is a transaction of its own; any number of processes may do it at once.
// What all of it was done for is noted last, so that the next start asks once.
func seal(ctx context.Context, d Dialect, db *sql.DB) error {
	version, err := newest(ctx, db)
	if err != nil {
		return err
	}
	all := sealedAt(version, sealRules)
	done, err := texts(ctx, db, "SELECT rule FROM seal_sources WHERE source = ''")
	if err != nil || len(done) == 1 && done[0] == all {
		return err
	}
	tables, err := texts(ctx, db, sealerOf(d).tables())
	if err != nil {
		return err
	}
	for _, table := range tables {
		if slices.Contains(unsealed, table) {
			continue
		}
		if err := inTx(ctx, db, func(tx *sql.Tx) error { return sealTable(ctx, d, tx, sourceOf(table)) }); err != nil {
			return fmt.Errorf("sealing the table %s: %w", table, err)
		}
	}
	return inTx(ctx, db, func(tx *sql.Tx) error {
		return run(ctx, tx, []string{"DELETE FROM seal_sources WHERE source = ''", "INSERT INTO seal_sources (source, rule) VALUES ('', " + quoted(all) + ")"})
	})
}

func sealTable(ctx context.Context, d Dialect, tx *sql.Tx, s source) error {
	l := sealerOf(d)
	columns, err := texts(ctx, tx, l.columns(), s.table)
	if err != nil {
		return err
	}
	want := s.rule(columns)
	have, err := texts(ctx, tx, "SELECT rule FROM seal_sources WHERE source = $1", s.table)
	if err != nil || len(have) == 1 && have[0] == want {
		return err
	}
	create, remove := l.triggers(s, columns)
	statements := slices.Concat([]string{l.lock(s.table)}, remove, create, []string{
		"DELETE FROM seal_sources WHERE source = " + quoted(s.table),
		"DELETE FROM seals WHERE lane >= 0 AND source = " + quoted(s.table),
		"INSERT INTO seals (source, shard, lane, kept, digest) SELECT " + quoted(s.table) + ", shard, 0, kept, digest FROM (" + actual(l, s, columns) + ") AS a",
		"INSERT INTO seal_sources (source, rule) VALUES (" + quoted(s.table) + ", " + quoted(want) + ")",
	})
	return run(ctx, tx, statements)
}

// unseal takes the triggers away before the columns change, and leaves of the seals
// what does not agree with the rows.
func unseal(ctx context.Context, d Dialect, db *sql.DB) error {
	l := sealerOf(d)
	tables, err := texts(ctx, db, l.tables())
	if err != nil || !slices.Contains(tables, "seal_sources") {
		return err
	}
	if _, err := db.ExecContext(ctx, "DELETE FROM seal_sources WHERE source = ''"); err != nil {
		return err
	}
	for _, table := range tables {
		if err := inTx(ctx, db, func(tx *sql.Tx) error { return unsealTable(ctx, d, tx, sourceOf(table)) }); err != nil {
			return fmt.Errorf("reading the seals of the table %s: %w", table, err)
		}
	}
	return nil
}

func unsealTable(ctx context.Context, d Dialect, tx *sql.Tx, s source) error {
	l := sealerOf(d)
	if sealed, err := texts(ctx, tx, "SELECT source FROM seal_sources WHERE source = $1", s.table); err != nil || len(sealed) == 0 {
		return err
	}
	columns, err := texts(ctx, tx, l.columns(), s.table)
	if err != nil {
		return err
	}
	_, remove := l.triggers(s, columns)
	return run(ctx, tx, slices.Concat([]string{l.lock(s.table),
		l.temporary("found_wrong", `SELECT shard, held - there AS kept, `+l.both("a_digest", "k_digest")+` AS digest FROM (`+differences(l, s, columns)+`) AS d`),
		"DELETE FROM seals WHERE source = " + quoted(s.table),
		"INSERT INTO seals (source, shard, lane, kept, digest) SELECT " + quoted(s.table) + ", shard, -1, kept, digest FROM found_wrong",
		"DROP TABLE found_wrong",
		"DELETE FROM seal_sources WHERE source = " + quoted(s.table),
	}, remove))
}

// actual gives shard, kept and digest of what is in a table.
func actual(l sealer, s source, columns []string) string {
	return "SELECT shard, count(*) AS kept, " + l.xor("digest") + " AS digest FROM (SELECT " + s.over("r") + " AS shard, " + l.digest("r", columns) +
		" AS digest FROM " + s.table + " AS r) AS x GROUP BY shard"
}

// differences gives the shards of which the seals hold something else than is
// there: shard, there, held and both digests.
func differences(l sealer, s source, columns []string) string {
	return `SELECT coalesce(a.shard, k.shard) AS shard, coalesce(a.kept, 0) AS there, coalesce(k.kept, 0) AS held,
		coalesce(a.digest, ` + l.zero() + `) AS a_digest, coalesce(k.digest, ` + l.zero() + `) AS k_digest
		FROM (` + actual(l, s, columns) + `) AS a FULL JOIN (
			SELECT shard, CAST(sum(kept) AS BIGINT) AS kept, ` + l.xor("digest") + ` AS digest FROM seals WHERE source = ` + quoted(s.table) + ` GROUP BY shard
		) AS k ON a.shard = k.shard
		WHERE coalesce(a.kept, 0) <> coalesce(k.kept, 0) OR coalesce(a.digest, ` + l.zero() + `) <> coalesce(k.digest, ` + l.zero() + `)`
}

func quoted(text string) string { return "'" + strings.ReplaceAll(text, "'", "''") + "'" }

type querier interface {
	QueryContext(ctx context.Context, query string, args ...any) (*sql.Rows, error)
}

// texts reads one column.
func texts(ctx context.Context, db querier, query string, args ...any) ([]string, error) {
	rows, err := db.QueryContext(ctx, query, args...)
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	var all []string
	for rows.Next() {
		var text string
		if err := rows.Scan(&text); err != nil {
			return nil, err
		}
		all = append(all, text)
	}
	return all, rows.Err()
}

func run(ctx context.Context, tx *sql.Tx, statements []string) error {
	for _, statement := range statements {
		if statement == "" {
			continue
		}
		if _, err := tx.ExecContext(ctx, statement); err != nil {
			return err
		}
	}
	return nil
}

func inTx(ctx context.Context, db *sql.DB, do func(tx *sql.Tx) error) error {
	tx, err := db.BeginTx(ctx, nil)
	if err != nil {
		return err
	}
	if err := do(tx); err != nil {
		return errors.Join(err, tx.Rollback())
	}
	return tx.Commit()
}
