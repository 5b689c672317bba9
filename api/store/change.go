package store

import (
	"barrelbook/api/app"
	"barrelbook/domain/mill"
	"barrelbook/domain/roll"
)

type changeRow struct {
	Name       string    `gorm:"column:name;primaryKey"`
	Stand      string    `gorm:"column:stand"`
	Role       mill.Role `gorm:"column:role"`
	HappenedAt int64     `gorm:"column:happened_at"`
	SetOut     string    `gorm:"column:set_out"`
	SetIn      string    `gorm:"column:set_in"`
	Why        roll.Why  `gorm:"column:why"`
	By         string    `gorm:"column:recorded_by"`
	Note       string    `gorm:"column:note"`
}

func (changeRow) TableName() string { return "changes" }

// newestFirst is the order of the lists of things that happened.
func newestFirst(list string) order {
	return order{list: list, columns: []string{"happened_at", "name"}, numbers: "nt", newest: true}
}

func (r *reader) Changes(stand string, p app.Page) ([]app.ChangeRow, string, error) {
	q := r.db
	if stand != "" {
		q = q.Where("stand = ?", stand)
	}
	return list(q, newestFirst("changes"), p,
		func(row changeRow) []any { return []any{row.HappenedAt, row.Name} },
		func(row changeRow) (app.ChangeRow, error) {
			return app.ChangeRow{Name: row.Name, Stand: row.Stand, Role: row.Role, At: moment(row.HappenedAt),
				SetOut: row.SetOut, SetIn: row.SetIn, Why: row.Why, By: row.By, Note: row.Note}, nil
		})
}

func (w *writer) CreateChange(c app.ChangeRow) error {
	row := changeRow{c.Name, c.Stand, c.Role, micros(c.At), c.SetOut, c.SetIn, c.Why, c.By, c.Note}
	return w.create(&row, taken("change", c.Name, "change list"))
}
