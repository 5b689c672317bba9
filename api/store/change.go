package store

import (
	"time"

	"barrelbook/api/app/port"
	"barrelbook/domain/mill"
	"barrelbook/domain/next"
	"barrelbook/domain/roll"
)

type changeRow struct {
	Name          string    `gorm:"column:name;primaryKey"`
	Stand         string    `gorm:"column:stand"`
	Role          mill.Role `gorm:"column:role"`
	HappenedAt    int64     `gorm:"column:happened_at"`
	SetOut        string    `gorm:"column:set_out"`
	SetIn         string    `gorm:"column:set_in"`
	Why           roll.Why  `gorm:"column:why"`
	By            string    `gorm:"column:recorded_by"`
	Note          string    `gorm:"column:note"`
	StatedT       float64   `gorm:"column:stated_t"`
	StatedKM      float64   `gorm:"column:stated_km"`
	StatedKNPerMM float64   `gorm:"column:stated_kn_per_mm"`
	UndoneAt      *int64    `gorm:"column:undone_at"`
	UndoneBy      string    `gorm:"column:undone_by"`
	UndoneWhy     string    `gorm:"column:undone_why"`
}

func (changeRow) TableName() string { return "changes" }

// newestFirst is the order of the lists of things that happened.
func newestFirst(list string, p port.Page) order {
	return order{list: list, columns: []string{"happened_at", "name"}, numbers: "nt", newest: p.Sort != port.OldestFirst}
}

func (r *reader) Change(name string) (port.ChangeRow, error) {
	var row changeRow
	if err := r.db.Where("name = ?", name).Take(&row).Error; err != nil {
		return port.ChangeRow{}, missing(err, "change", name, next.ListChanges(""))
	}
	return row.change()
}

func (r *reader) Changes(stand string, p port.Page) ([]port.ChangeRow, string, error) {
	q := r.db
	if stand != "" {
		q = q.Where("stand = ?", stand)
	}
	return list(q, newestFirst("changes", p), p, func(row changeRow) []any { return []any{row.HappenedAt, row.Name} }, changeRow.change)
}

func (row changeRow) change() (port.ChangeRow, error) {
	return port.ChangeRow{Name: row.Name, Stand: row.Stand, Role: row.Role, At: moment(row.HappenedAt),
		SetOut: row.SetOut, SetIn: row.SetIn, Why: row.Why, By: row.By, Note: row.Note,
		StatedT: row.StatedT, StatedKM: row.StatedKM, StatedSpecificKNPerMM: row.StatedKNPerMM,
		UndoneAt: momentOrZero(row.UndoneAt), UndoneBy: row.UndoneBy, UndoneWhy: row.UndoneWhy}, nil
}

func (w *writer) CreateChange(c port.ChangeRow) error {
	row := changeRow{Name: c.Name, Stand: c.Stand, Role: c.Role, HappenedAt: micros(c.At), SetOut: c.SetOut, SetIn: c.SetIn, Why: c.Why, By: c.By, Note: c.Note,
		StatedT: c.StatedT, StatedKM: c.StatedKM, StatedKNPerMM: c.StatedSpecificKNPerMM, UndoneAt: microsOrNull(c.UndoneAt), UndoneBy: c.UndoneBy, UndoneWhy: c.UndoneWhy}
	return w.tellChange(w.create(&row, taken("change", c.Name, next.ListChanges(""))), port.EventChangeRecorded, c)
}

func (w *writer) UndoChange(name string, at time.Time, by, why string) error {
	done := w.db.Model(&changeRow{}).Where("name = ? AND undone_at IS NULL", name).
		Updates(map[string]any{"undone_at": micros(at), "undone_by": by, "undone_why": why})
	if done.Error != nil {
		return done.Error
	}
	c, err := w.Change(name)
	if err != nil || done.RowsAffected == 1 {
		return w.tellChange(err, port.EventChangeUndone, c)
	}
	return refuseNext(next.ListChanges(""), port.Conflicting, "roll change %s was undone already", name)
}

func (w *writer) tellChange(err error, kind port.EventKind, c port.ChangeRow) error {
	return w.tell(err, kind, named("changes", c.Name), "", port.EventData{Name: c.Name, Stand: c.Stand, Role: string(c.Role), SetOut: c.SetOut, SetIn: c.SetIn, When: c.At})
}

func (w *writer) MoveChange(c port.ChangeRow) error {
	return w.tellChange(w.changeOne(&changeRow{}, "name", c.Name, map[string]any{"happened_at": micros(c.At), "set_out": c.SetOut, "why": c.Why}, notFound("change", c.Name, next.ListChanges(""))), port.EventChangeMoved, c)
}
