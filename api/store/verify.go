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

// Damage is one place where the data is not as the service wrote it.
type Damage struct {
	Table string // empty for a roll's book or its projection
	Key   string // which rows of the table, in words
	Roll  string
	Entry int64 // 0 when it is the roll's projection
	Why   string
}

func (d *Damage) Error() string {
	switch {
	case d.Table != "" && d.Key == "":
		return fmt.Sprintf("%s: %s", d.Table, d.Why)
	case d.Table != "":
		return fmt.Sprintf("table %s, %s: %s", d.Table, d.Key, d.Why)
	case d.Entry == 0:
		return fmt.Sprintf("roll %s: %s", d.Roll, d.Why)
	}
	return fmt.Sprintf("roll %s, entry %d: %s", d.Roll, d.Entry, d.Why)
}

// ofRoll is damage to the book of a roll, or to its projection: entry 0.
func ofRoll(number string, entry int64, why string) *Damage {
	return &Damage{Roll: number, Entry: entry, Why: why}
}

// mostDamage is how much is told at once.
const mostDamage = 100

// Verify reads everything and checks it, and writes nothing:
//
//   - the pages of a data file, and every index against its table;
//   - every row of every table against the seals that were kept when it was written:
//     what was changed, added or taken away past the service shows;
//   - the chain of sign-offs of the whole works: each follows from the one before it,
//     and what was signed is still there, even where the seals were reckoned anew;
//   - every book of a roll: the numbers follow one another, the hash of each entry
//     is that of what it says and of the hash before it, the last is the one the
//     projection holds, and replaying the book gives the projection, the regrinds
//     kept for learning and the stays in stands;
//   - every book of a chock, and what follows from other rows: sets and counts.
//
// It gives every *Damage it finds, up to a hundred, the nearest to the disk first.
// It may run while the service works: what is compared is read as of one moment.
func (s *Store) Verify(ctx context.Context) error { return s.VerifySigned(ctx, "") }

// VerifySigned is Verify, and wants a sign-off with the hash, which was noted
// outside: without it a chain that was made anew, or an older copy of the whole
// works, is as good as the true one.
func (s *Store) VerifySigned(ctx context.Context, hash string) error {
	var found []error
	for _, check := range []func(context.Context) ([]error, error){s.verifySchema, s.verifyPages, s.verifySeals, s.verifySignOffs(hash), s.verifyRolls, s.verifyShop} {
		if len(found) >= mostDamage {
			break
		}
		damage, err := check(ctx)
		if err != nil && ctx.Err() == nil && unreadable(err) {
			damage, err = append(damage, &Damage{Table: "data file", Why: err.Error()}), nil
		}
		if err != nil {
			return err
		}
		found = append(found, damage...)
	}
	return errors.Join(found...)
}

// verifyRolls checks the books of all rolls, a group at a time.
func (s *Store) verifyRolls(ctx context.Context) ([]error, error) {
	const group = 200
	var found []error
	for after, more := "", true; more && len(found) < mostDamage; {
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
			return found, err
		}
	}
	return found, nil
}

// verifyBooks checks the books of the rolls after one number up to and with
// another, "" for the end, against their projections. Entries come as a stream:
// only one book is held at a time.
func verifyBooks(tx *gorm.DB, projections []rollRow, after, last string) (found []error, err error) {
	tables, err := tablesOf(tx)
	if err != nil {
		return nil, err
	}
	var grinds map[string][]grindRow // nil where an older schema keeps none
	if tables["grinds"] {
		if grinds, err = grindsBetween(tx, after, last); err != nil {
			return nil, err
		}
	}
	stays, err := staysBetween(tx, after, last)
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
			found = append(found, ofRoll(number, 0, "there are entries and no projection"))
		} else if d := verifyBook(p, book, grinds[number], grinds != nil, stays[number]); d != nil {
			found = append(found, d)
		}
		delete(expected, number)
	}
	if err := eachBook(tx, rows, check); err != nil {
		return nil, err
	}
	for _, number := range keys(expected) {
		found = append(found, ofRoll(number, 0, "there is a projection and no entry"))
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
func verifyBook(p rollRow, book []entryRow, grinds []grindRow, learned bool, stays []stay) *Damage {
	entries, previous := make([]roll.Entry, len(book)), ""
	for i, row := range book {
		if row.Number != int64(i+1) {
			return ofRoll(p.Number, int64(i+1), "the entry is missing")
		}
		e, err := row.entry()
		if err != nil {
			return ofRoll(p.Number, row.Number, err.Error())
		}
		if roll.Digest(previous, e, []byte(row.Body)) != row.Hash {
			return ofRoll(p.Number, row.Number, "what it says is not what its hash was taken over")
		}
		entries[i], previous = e, row.Hash
	}
	if previous != p.Hash {
		return ofRoll(p.Number, 0, "the hash of the last entry is not the one the projection holds: entries were taken off the end")
	}
	read, err := grindRows(entries)
	if err != nil {
		return ofRoll(p.Number, 0, err.Error())
	}
	slices.SortFunc(read, func(a, b grindRow) int {
		return cmp.Or(cmp.Compare(a.HappenedAt, b.HappenedAt), cmp.Compare(a.Entry, b.Entry))
	})
	if learned && !slices.Equal(read, grinds) {
		return ofRoll(p.Number, 0, "the book tells other regrinds than those kept for learning")
	}
	if why := verifyStays(entries, stays); why != "" {
		return ofRoll(p.Number, 0, why)
	}
	state, err := roll.Replay(entries)
	if err != nil {
		return ofRoll(p.Number, 0, "the book contradicts itself: "+err.Error())
	}
	replayed, err := newRollRow(state, previous)
	if err != nil {
		return ofRoll(p.Number, 0, err.Error())
	}
	replayed.Totals = p.Totals // counted, not replayed
	if p.Rules < projectionRules {
		// Read out of the book by the rules of an older version: it says less, and is
		// read anew when the data is next opened to be written.
		return nil
	}
	if replayed != p {
		return ofRoll(p.Number, 0, "replaying the book gives another state than the projection")
	}
	return nil
}
