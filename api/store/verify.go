package store

import (
	"cmp"
	"context"
	"database/sql"
	"errors"
	"fmt"
	"slices"

	"gorm.io/gorm"

	"barrelbook/domain/roll"
)

// Damage is one place where the books are not as the service wrote them.
type Damage struct {
	Roll  string
	Entry int64 // 0 when it is the roll's projection
	Why   string
}

func (d *Damage) Error() string {
	if d.Entry == 0 {
		return fmt.Sprintf("roll %s: %s", d.Roll, d.Why)
	}
	return fmt.Sprintf("roll %s, entry %d: %s", d.Roll, d.Entry, d.Why)
}

// Verify reads every book and checks it: the numbers follow one another, the
// hash of each entry is that of what it says and of the hash before it, the last
// is the one the projection holds, and replaying the book gives the projection.
// It gives every *Damage it finds, one a roll, up to a hundred. It may run while
// the service works: each group of rolls is read as of one moment.
func (s *Store) Verify(ctx context.Context) error {
	const group, most = 200, 100
	var found []error
	for after, more := "", true; more && len(found) < most; {
		err := s.read.WithContext(ctx).Transaction(func(tx *gorm.DB) error {
			var rows []rollRow
			if err := tx.Where("number > ?", after).Order("number").Limit(group).Find(&rows).Error; err != nil {
				return err
			}
			last := ""
			if more = len(rows) == group; more {
				last = rows[group-1].Number
			}
			damage, err := verifyBooks(tx, rows, after, last)
			found = append(found, damage...)
			after = last
			return err
		}, s.snapshot)
		if err != nil {
			return err
		}
	}
	return errors.Join(found...)
}

// verifyBooks checks the books of the rolls after one number up to and with
// another, "" for the end, against their projections. Entries come as a stream:
// only one book is held at a time.
func verifyBooks(tx *gorm.DB, projections []rollRow, after, last string) (found []error, err error) {
	grinds, err := grindsBetween(tx, after, last)
	if err != nil {
		return nil, err
	}
	q := tx.Model(&entryRow{}).Where("roll > ?", after).Order("roll, number")
	if last != "" {
		q = q.Where("roll <= ?", last)
	}
	rows, err := q.Rows()
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	expected := map[string]rollRow{}
	for _, p := range projections {
		expected[p.Number] = p
	}
	check := func(number string, book []entryRow) {
		if p, ok := expected[number]; !ok {
			found = append(found, &Damage{Roll: number, Entry: 0, Why: "there are entries and no projection"})
		} else if d := verifyBook(p, book, grinds[number]); d != nil {
			found = append(found, d)
		}
		delete(expected, number)
	}
	if err := eachBook(tx, rows, check); err != nil {
		return nil, err
	}
	for _, number := range keys(expected) {
		found = append(found, &Damage{Roll: number, Entry: 0, Why: "there is a projection and no entry"})
	}
	return found, nil
}

// grindsBetween gives the regrinds of the rolls without their ids, in the order
// of happening.
func grindsBetween(tx *gorm.DB, after, last string) (map[string][]grindRow, error) {
	q := tx.Where("roll > ?", after).Order("roll, happened_at, entry")
	if last != "" {
		q = q.Where("roll <= ?", last)
	}
	var rows []grindRow
	if err := q.Find(&rows).Error; err != nil {
		return nil, err
	}
	byRoll := map[string][]grindRow{}
	for _, row := range rows {
		row.ID = 0
		byRoll[row.Roll] = append(byRoll[row.Roll], row)
	}
	return byRoll, nil
}

// eachBook gathers the entries of a roll, which come one after another.
func eachBook(tx *gorm.DB, rows *sql.Rows, do func(number string, book []entryRow)) error {
	var book []entryRow
	for rows.Next() {
		var e entryRow
		if err := tx.ScanRows(rows, &e); err != nil {
			return err
		}
		if len(book) > 0 && book[0].Roll != e.Roll {
			do(book[0].Roll, book)
			book = nil
		}
		book = append(book, e)
	}
	if len(book) > 0 {
		do(book[0].Roll, book)
	}
	return rows.Err()
}

// verifyBook checks one book, nil when it is whole.
func verifyBook(p rollRow, book []entryRow, grinds []grindRow) *Damage {
	entries, previous := make([]roll.Entry, len(book)), ""
	for i, row := range book {
		if row.Number != int64(i+1) {
			return &Damage{Roll: p.Number, Entry: int64(i + 1), Why: "the entry is missing"}
		}
		e, err := row.entry()
		if err != nil {
			return &Damage{Roll: p.Number, Entry: row.Number, Why: err.Error()}
		}
		if roll.Digest(previous, e, []byte(row.Body)) != row.Hash {
			return &Damage{Roll: p.Number, Entry: row.Number, Why: "what it says is not what its hash was taken over"}
		}
		entries[i], previous = e, row.Hash
	}
	if previous != p.Hash {
		return &Damage{Roll: p.Number, Entry: 0, Why: "the hash of the last entry is not the one the projection holds: entries were taken off the end"}
	}
	read, err := grindRows(entries)
	if err != nil {
		return &Damage{Roll: p.Number, Entry: 0, Why: err.Error()}
	}
	slices.SortFunc(read, func(a, b grindRow) int {
		return cmp.Or(cmp.Compare(a.HappenedAt, b.HappenedAt), cmp.Compare(a.Entry, b.Entry))
	})
	if !slices.Equal(read, grinds) {
		return &Damage{Roll: p.Number, Entry: 0, Why: "the book tells other regrinds than those kept for learning"}
	}
	state, err := roll.Replay(entries)
	if err != nil {
		return &Damage{Roll: p.Number, Entry: 0, Why: "the book contradicts itself: " + err.Error()}
	}
	replayed, err := newRollRow(state, previous)
	if err != nil {
		return &Damage{Roll: p.Number, Entry: 0, Why: err.Error()}
	}
	replayed.Totals = p.Totals // counted, not replayed
	if replayed != p {
		return &Damage{Roll: p.Number, Entry: 0, Why: "replaying the book gives another state than the projection"}
	}
	return nil
}
