package migrations

import (
	"context"
	"database/sql"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"
)

// Difference is a part of a table that is not as it was kept.
type Difference struct {
	Table string
	Part  string // which rows, in words
	There int64  // rows
	Kept  int64
}

// Sealed says whether the tables of a database are sealed: those of older schemas
// are not.
func Sealed(ctx context.Context, d Dialect, tx *sql.Tx) (bool, error) {
	tables, err := texts(ctx, tx, sealerOf(d).tables())
	return slices.Contains(tables, "seal_sources"), err
}

// Differences holds every table against its seals, inside one transaction, which it
// only reads, and gives at most so many differences. A table that no seal is kept
// of is one.
func Differences(ctx context.Context, d Dialect, tx *sql.Tx, most int) ([]Difference, error) {
	l := sealerOf(d)
	tables, err := texts(ctx, tx, l.tables())
	if err != nil {
		return nil, err
	}
	sealed, err := texts(ctx, tx, "SELECT source FROM seal_sources WHERE source <> '' UNION SELECT source FROM seals ORDER BY 1")
	if err != nil {
		return nil, err
	}
	version, err := newest(ctx, tx)
	if err != nil {
		return nil, err
	}
	noted, err := texts(ctx, tx, "SELECT rule FROM seal_sources WHERE source = ''")
	if err != nil {
		return nil, err
	}
	var found []Difference
	if !slices.ContainsFunc(noted, func(rule string) bool { return sealedBy(rule, version) }) {
		found = append(found, Difference{Table: "seal_sources", Part: "what all tables were sealed by"})
	}
	for _, table := range tables {
		if slices.Contains(unsealed, table) {
			continue
		}
		one, err := tableDifferences(ctx, d, tx, sourceOf(table), most-len(found))
		if err != nil {
			return nil, fmt.Errorf("reading the table %s: %w", table, err)
		}
		if found = append(found, one...); len(found) >= most {
			return found, nil
		}
	}
	for _, table := range sealed {
		if !slices.Contains(tables, table) {
			found = append(found, Difference{Table: table, Part: "the whole table"})
		}
	}
	return found, nil
}

func tableDifferences(ctx context.Context, d Dialect, tx *sql.Tx, s source, most int) ([]Difference, error) {
	l := sealerOf(d)
	columns, err := texts(ctx, tx, l.columns(), s.table)
	if err != nil {
		return nil, err
	}
	rule, err := texts(ctx, tx, "SELECT rule FROM seal_sources WHERE source = $1", s.table)
	if err != nil {
		return nil, err
	}
	if len(rule) != 1 || rule[0] != s.rule(columns) {
		return []Difference{{Table: s.table, Part: "the whole table, which is not sealed by the rule of this version"}}, nil
	}
	rows, err := tx.QueryContext(ctx, "SELECT shard, there, held FROM ("+differences(l, s, columns)+") AS d ORDER BY shard LIMIT "+strconv.Itoa(most))
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	var found []Difference
	for rows.Next() {
		one := Difference{Table: s.table}
		if err := rows.Scan(&one.Part, &one.There, &one.Kept); err != nil {
			return nil, err
		}
		one.Part = s.words(one.Part)
		found = append(found, one)
	}
	return found, rows.Err()
}

// words say which rows a shard holds.
func (s source) words(shard string) string {
	switch at := strings.LastIndexByte(shard, ' '); {
	case s.shard == "''":
		return "the whole table"
	case strings.Contains(s.shard, "3600000000") && at >= 0:
		hours, err := strconv.ParseInt(shard[at+1:], 10, 64)
		if err != nil {
			return shard
		}
		return strings.TrimSpace(shard[:at] + " of the hour from " + time.Unix(hours*3600, 0).UTC().Format("2006-01-02 15:04Z"))
	}
	return shard
}
