package store

import (
	"barrelbook/api/app/port"
	"barrelbook/domain/mill"
	"barrelbook/domain/next"
	"barrelbook/domain/quantity"
)

type standRow struct {
	Name            string              `gorm:"column:name;primaryKey"`
	Mill            string              `gorm:"column:mill"`
	Order           int                 `gorm:"column:pass_order"`
	Arrangement     mill.Arrangement    `gorm:"column:arrangement"`
	Vertical        bool                `gorm:"column:vertical"`
	Reversing       bool                `gorm:"column:reversing"`
	MaxForceKN      float64             `gorm:"column:max_force_kn"`
	MaxTorqueKNM    float64             `gorm:"column:max_torque_knm"`
	MinRPM          float64             `gorm:"column:min_rpm"`
	MaxRPM          float64             `gorm:"column:max_rpm"`
	MinStack        quantity.Micrometre `gorm:"column:min_stack_um"`
	MaxStack        quantity.Micrometre `gorm:"column:max_stack_um"`
	MaxShim         quantity.Micrometre `gorm:"column:max_shim_um"`
	ReferenceWork   quantity.Micrometre `gorm:"column:reference_work_um"`
	ReferenceBackup quantity.Micrometre `gorm:"column:reference_backup_um"`
	BendingForceKN  float64             `gorm:"column:bending_force_kn"`
	DriveBlock      string              `gorm:"column:drive_block"`
	Version         int64               `gorm:"column:version"`
}

func (standRow) TableName() string { return "stands" }

var standOrder = order{list: "stands", columns: []string{"mill", "pass_order", "name"}, numbers: "tnt"}

func (r *reader) Stand(name string) (mill.Stand, error) {
	var row standRow
	err := r.db.Where("name = ?", name).Take(&row).Error
	return mill.Stand(row), missing(err, "stand", name, next.ListStands())
}

func (r *reader) Stands(millName string, p port.Page) ([]mill.Stand, string, error) {
	q := r.db
	if millName != "" {
		q = q.Where("mill = ?", millName)
	}
	return list(q, standOrder, p,
		func(row standRow) []any { return []any{row.Mill, row.Order, row.Name} },
		func(row standRow) (mill.Stand, error) { return mill.Stand(row), nil })
}

func (w *writer) CreateStand(s mill.Stand) error {
	w.ownSettings = true
	s.Version = 1
	row := standRow(s)
	return w.tellStand(w.create(&row, taken("stand", s.Name, next.ListStands())), port.EventStandAdded, s)
}

func (w *writer) tellStand(err error, kind port.EventKind, s mill.Stand) error {
	return w.tell(err, kind, named("stands", s.Name), s.Mill, port.EventData{Name: s.Name, Version: s.Version, Stand: s.Name})
}

func (w *writer) ReplaceStand(s mill.Stand) error {
	w.ownSettings = true
	read := s.Version
	s.Version++
	// Every column, also those that are zero: zero says "no limit".
	done := w.db.Model(&standRow{}).Where("name = ? AND version = ?", s.Name, read).Select("*").Updates(standRow(s))
	if done.Error != nil || done.RowsAffected == 1 {
		return w.tellStand(done.Error, port.EventStandReplaced, s)
	}
	now, err := w.Stand(s.Name)
	if err != nil {
		return err
	}
	return stale("stand", s.Name, read, now.Version, next.ShowStand(s.Name))
}

// stale says that what was to be changed is not what was read.
func stale(what, name string, read, now int64, show next.Step) error {
	return refuseNext(show, port.Stale, "%s %s is at version %d now and you have version %d; read it again", what, name, now, read)
}
