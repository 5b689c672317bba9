package store

import (
	"gorm.io/gorm/clause"

	"barrelbook/api/app/port"
	"barrelbook/domain/mill"
	"barrelbook/domain/next"
)

type millRow struct {
	Name           string    `gorm:"column:name;primaryKey"`
	Kind           mill.Kind `gorm:"column:kind"`
	Title          string    `gorm:"column:title"`
	DensityKGPerM3 float64   `gorm:"column:density_kg_per_m3"`
}

func (millRow) TableName() string { return "mills" }

// byName is the order of the lists of named things.
func byName(list string) order { return order{list: list, columns: []string{"name"}, numbers: "t"} }

func (r *reader) Mill(name string) (mill.Mill, error) {
	var row millRow
	err := r.db.Where("name = ?", name).Take(&row).Error
	return mill.Mill(row), missing(err, "mill", name, next.ListMills())
}

func (r *reader) Mills(p port.Page) ([]mill.Mill, string, error) {
	return list(r.db, byName("mills"), p,
		func(row millRow) []any { return []any{row.Name} },
		func(row millRow) (mill.Mill, error) { return mill.Mill(row), nil })
}

func (w *writer) CreateMill(m mill.Mill) error {
	w.ownSettings = true
	row := millRow(m)
	return w.tell(w.create(&row, taken("mill", m.Name, next.ListMills())), port.EventMillAdded, named("mills", m.Name), m.Name, port.EventData{Name: m.Name})
}

// create inserts a row, or gives conflict when its key is taken. The conflict
// is not an error of the statement: PostgreSQL would take the transaction down
// with it.
func (w *writer) create(row any, conflict error) error {
	done := w.db.Clauses(clause.OnConflict{DoNothing: true}).Create(row)
	if done.Error == nil && done.RowsAffected == 0 {
		return conflict
	}
	return done.Error
}
