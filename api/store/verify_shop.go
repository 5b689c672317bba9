package store

import (
	"context"
	"database/sql"
	"fmt"

	"gorm.io/gorm"

	"barrelbook/domain/chock"
	"barrelbook/migrations"
)

// verifySeals holds the rows of every table against the seals.
func (s *Store) verifySeals(ctx context.Context) ([]error, error) {
	db, err := s.read.DB()
	if err != nil {
		return nil, err
	}
	tx, err := db.BeginTx(ctx, s.sealView())
	if err != nil {
		return nil, err
	}
	defer func() { _ = tx.Rollback() }()
	if sealed, err := migrations.Sealed(ctx, s.dialect, tx); err != nil || !sealed {
		return nil, err // older schemas are not sealed; their books are still checked
	}
	differences, err := migrations.Differences(ctx, s.dialect, tx, mostDamage)
	var found []error
	for _, d := range differences {
		why := fmt.Sprintf("what is there is not what was written (%d of %d rows)", d.There, d.Kept)
		if d.There == d.Kept {
			why = fmt.Sprintf("what is there is not what was written (rows sealed together: %d)", d.There)
		}
		found = append(found, &Damage{Table: d.Table, Key: d.Part, Why: why})
	}
	return found, err
}

// sealView is a transaction that sees one moment of all tables.
func (s *Store) sealView() *sql.TxOptions {
	if s.dialect == migrations.SQLite {
		return nil
	}
	return &sql.TxOptions{Isolation: sql.LevelRepeatableRead, ReadOnly: true}
}

// verifyShop replays the books of chocks and checks what follows from other rows.
func (s *Store) verifyShop(ctx context.Context) (found []error, err error) {
	err = s.read.WithContext(ctx).Transaction(func(tx *gorm.DB) error {
		tables, err := tablesOf(tx)
		if err != nil {
			return err
		}
		if tables["chocks"] {
			if found, err = verifyChocks(tx); err != nil {
				return err
			}
		}
		for _, rule := range shopRules {
			if !tables[rule.table] {
				continue // of a schema that is older
			}
			var keys []string
			if err := tx.Raw(rule.broken).Limit(mostDamage).Scan(&keys).Error; err != nil {
				return fmt.Errorf("checking the table %s: %w", rule.table, err)
			}
			for _, key := range keys {
				found = append(found, &Damage{Table: rule.table, Key: key, Why: rule.why})
			}
		}
		return nil
	}, s.snapshot)
	return found, err
}

// shopRules are what rows of one table must be by those of others.
var shopRules = []struct{ table, why, broken string }{
	{"piece_counts", "the pieces of the mill are not so many",
		`SELECT coalesce(c.mill, p.mill) FROM piece_counts c FULL JOIN (SELECT mill, count(*) AS pieces FROM pieces GROUP BY mill) p ON p.mill = c.mill
		 WHERE coalesce(c.pieces, 0) <> coalesce(p.pieces, 0) ORDER BY 1`},
	{"sets", "a roll of the set is not in it by its book",
		`SELECT s.name FROM sets s LEFT JOIN roll_states t ON t.number = s.top LEFT JOIN roll_states b ON b.number = s.bottom
		 WHERE s.broken_at IS NULL AND (t.set_name IS DISTINCT FROM s.name OR b.set_name IS DISTINCT FROM s.name) ORDER BY 1`},
	{"events", "one is missing in the order",
		`SELECT CAST(min(position) AS TEXT) FROM events HAVING count(position) <> max(position) - min(position) + 1`},
	{"roll_damage", "there is no such roll", `SELECT d.roll FROM roll_damage d LEFT JOIN roll_states r ON r.number = d.roll WHERE r.number IS NULL ORDER BY 1`},
}

// tablesOf are the tables there are: a schema of an older version has fewer.
func tablesOf(tx *gorm.DB) (map[string]bool, error) {
	names, err := tx.Migrator().GetTables()
	tables := map[string]bool{}
	for _, name := range names {
		tables[name] = true
	}
	return tables, err
}

func verifyChocks(tx *gorm.DB) (found []error, err error) {
	var rows []chockRow
	if err := tx.Order("name").Find(&rows).Error; err != nil {
		return nil, err
	}
	var entries []chockEntryRow
	if err := tx.Order("chock, number").Find(&entries).Error; err != nil {
		return nil, err
	}
	books := map[string][]chockEntryRow{}
	for _, e := range entries {
		books[e.Chock] = append(books[e.Chock], e)
	}
	for _, row := range rows {
		if why := verifyChock(row, books[row.Name]); why != "" {
			found = append(found, &Damage{Table: "chocks", Key: row.Name, Why: why})
		}
		delete(books, row.Name)
	}
	for _, name := range keys(books) {
		found = append(found, &Damage{Table: "chock_entries", Key: name, Why: "there are entries and no chock"})
	}
	return found, nil
}

// verifyChock replays the book of a chock, "" when it gives the row.
func verifyChock(row chockRow, book []chockEntryRow) string {
	entries := make([]chock.Entry, len(book))
	for i, e := range book {
		var err error
		if entries[i], err = e.entry(); err != nil {
			return err.Error()
		}
		if e.Number != int64(i+1) {
			return fmt.Sprintf("entry %d of its book is missing", i+1)
		}
	}
	state, err := chock.Replay(entries)
	if err != nil {
		return "its book contradicts itself: " + err.Error()
	}
	if told := (chockRow{Name: state.Name, Mill: state.Mill, Role: state.Role, Set: state.Set, Place: state.Place, Version: state.Entries}); told != row {
		return "replaying its book gives another state"
	}
	return ""
}
