package store

import (
	"barrelbook/api/app/port"
	"barrelbook/domain/mill"
	"barrelbook/domain/next"
)

type setRow struct {
	Name     string    `gorm:"column:name;primaryKey"`
	Role     mill.Role `gorm:"column:role"`
	Mill     string    `gorm:"column:mill"`
	Top      string    `gorm:"column:top"`
	Bottom   string    `gorm:"column:bottom"`
	BuiltAt  int64     `gorm:"column:built_at"`
	BrokenAt *int64    `gorm:"column:broken_at"`
	Stand    string    `gorm:"column:stand"`
	Version  int64     `gorm:"column:version"`
}

func (setRow) TableName() string { return "sets" }

func newSetRow(s port.SetRow) setRow {
	return setRow{Name: s.Name, Role: s.Role, Mill: s.Mill, Top: s.Top, Bottom: s.Bottom, BuiltAt: micros(s.BuiltAt), BrokenAt: microsOrNull(s.BrokenAt), Stand: s.Stand, Version: s.Version}
}

func (row setRow) set() (port.SetRow, error) {
	return port.SetRow{Name: row.Name, Role: row.Role, Mill: row.Mill, Top: row.Top, Bottom: row.Bottom,
		BuiltAt: moment(row.BuiltAt), BrokenAt: momentOrZero(row.BrokenAt), Stand: row.Stand, Version: row.Version}, nil
}

func (r *reader) Set(name string) (port.SetRow, error) {
	var row setRow
	if err := r.db.Where("name = ?", name).Take(&row).Error; err != nil {
		return port.SetRow{}, missing(err, "set", name, next.ListSets())
	}
	return row.set()
}

func (r *reader) Sets(f port.SetFilter, p port.Page) ([]port.SetRow, string, error) {
	q := r.db.Where("broken_at IS NULL")
	if f.Role != "" {
		q = q.Where("role = ?", f.Role)
	}
	if f.Mill != "" {
		q = q.Where("mill = ?", f.Mill)
	}
	return list(q, byName("sets"), p, func(row setRow) []any { return []any{row.Name} }, setRow.set)
}

func (w *writer) CreateSet(s port.SetRow) error {
	s.Version = 1
	row := newSetRow(s)
	return w.tellSet(w.create(&row, taken("set", s.Name, next.ListSets())), port.EventSetBuilt, s)
}

func (w *writer) tellSet(err error, kind port.EventKind, s port.SetRow) error {
	return w.tell(err, kind, named("sets", s.Name), s.Mill, port.EventData{Name: s.Name, Version: s.Version, Role: string(s.Role), Stand: s.Stand, Rolls: []string{s.Top, s.Bottom}})
}

func (w *writer) ReplaceSet(s port.SetRow) error {
	read := s.Version
	s.Version++
	kind := port.EventSetChanged
	if !s.BrokenAt.IsZero() {
		kind = port.EventSetBroken
	}
	done := w.db.Model(&setRow{}).Where("name = ? AND version = ?", s.Name, read).Select("*").Updates(newSetRow(s))
	if done.Error != nil || done.RowsAffected == 1 {
		return w.tellSet(done.Error, kind, s)
	}
	now, err := w.Set(s.Name)
	if err != nil {
		return err
	}
	return stale("set", s.Name, read, now.Version, next.ShowSet(s.Name))
}
