package store

import (
	"cmp"
	"fmt"
	"maps"
	"slices"
	"strings"

	"barrelbook/domain/duty"
)

// usageColumn is where usages are kept: a table, its key and the column.
type usageColumn[Key cmp.Ordered] struct{ table, key, keyType, column string }

// rowsPerUpdate keeps an update of many rows below the parameters that either
// database takes in one statement.
const rowsPerUpdate = 5000

// addTo adds to the usages of rows by their keys. The sums are made here and
// not in SQL, because the wear along a barrel adds station by station. Rows that
// do not exist are passed over.
func addTo[Key cmp.Ordered](w *writer, c usageColumn[Key], additions map[Key]duty.Usage) error {
	for chunk := range slices.Chunk(keys(additions), rowsPerUpdate) {
		var rows []struct {
			Key   Key    `gorm:"column:k"`
			Usage string `gorm:"column:u"`
		}
		err := w.db.Table(c.table).Select(c.key+" AS k, "+c.column+" AS u").Clauses(forChange).
			Where(c.key+" IN ?", chunk).Order(c.key).Find(&rows).Error
		if err != nil {
			return err
		}
		sums := map[Key]duty.Usage{}
		for _, row := range rows {
			sum, err := decodeUsage(row.Usage)
			if err != nil {
				return fmt.Errorf("reading the usage of %v: %w", row.Key, err)
			}
			sum.Add(additions[row.Key])
			sums[row.Key] = sum
		}
		if err := putUsages(w, c, sums); err != nil {
			return err
		}
	}
	return nil
}

// putUsages writes the usages of rows by their keys. Rows that do not exist are
// passed over.
func putUsages[Key cmp.Ordered](w *writer, c usageColumn[Key], usages map[Key]duty.Usage) error {
	for chunk := range slices.Chunk(keys(usages), rowsPerUpdate) {
		marks, values := make([]string, len(chunk)), make([]any, 0, 2*len(chunk))
		for i, key := range chunk {
			text, err := encodeUsage(usages[key])
			if err != nil {
				return fmt.Errorf("the usage of %v: %w", key, err)
			}
			marks[i] = "(CAST(? AS " + c.keyType + "), CAST(? AS TEXT))"
			values = append(values, key, text)
		}
		err := w.db.Exec("WITH sums (k, u) AS (VALUES "+strings.Join(marks, ",")+") UPDATE "+c.table+" SET "+c.column+" = sums.u FROM sums WHERE "+c.table+"."+c.key+" = sums.k", values...).Error
		if err != nil {
			return err
		}
	}
	return nil
}

// keys are the keys of a map in order, so that rows are always locked in it.
func keys[Key cmp.Ordered, V any](m map[Key]V) []Key { return slices.Sorted(maps.Keys(m)) }
