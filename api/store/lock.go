package store

import (
	"slices"

	"gorm.io/gorm/clause"

	"barrelbook/migrations"
)

// forChange locks rows until the transaction ends. It is the weaker of the
// two row locks for writing, which lets others insert rows that refer to the
// locked one. On SQLite the transaction began with the lock on the whole file.
var forChange = clause.Locking{Strength: "NO KEY UPDATE"}

func (w *writer) LockStands(names []string) error { return w.lock(&standRow{}, "name", names) }

func (w *writer) LockRolls(numbers []string) error { return w.lock(&rollRow{}, "number", numbers) }

func (w *writer) LockChocks(names []string) error { return w.lock(&chockRow{}, "name", names) }

// lock takes the rows in the order of their keys: the database locks them as
// it sorts them. On SQLite there is nothing to take.
func (w *writer) lock(model any, key string, names []string) error {
	if w.dialect == migrations.SQLite {
		return nil
	}
	for chunk := range slices.Chunk(sorted(names), namesPerQuery) {
		var found []string
		if err := w.db.Model(model).Clauses(forChange).Where(key+" IN ?", chunk).Order(key).Pluck(key, &found).Error; err != nil {
			return err
		}
	}
	return nil
}
