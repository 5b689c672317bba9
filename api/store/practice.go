package store

import (
	"encoding/json"
	"fmt"

	"barrelbook/api/app/port"
	"barrelbook/domain/mill"
	"barrelbook/domain/next"
	"barrelbook/domain/practice"
)

type practiceRow struct {
	Name     string    `gorm:"column:name;primaryKey"`
	Version  int64     `gorm:"column:version;primaryKey;autoIncrement:false"`
	Mill     string    `gorm:"column:mill"`
	Stand    string    `gorm:"column:stand"`
	Role     mill.Role `gorm:"column:role"`
	Grade    string    `gorm:"column:grade"`
	Material string    `gorm:"column:material"`
	Settings string    `gorm:"column:settings"`
}

func (practiceRow) TableName() string { return "practices" }

func (r *reader) Practice(name string) (practice.Practice, error) {
	var row practiceRow
	if err := r.db.Where("name = ?", name).Order("version DESC").Take(&row).Error; err != nil {
		return practice.Practice{}, missing(err, "practice", name, next.ListPractices())
	}
	return row.practice()
}

func (r *reader) Practices(p port.Page) ([]practice.Practice, string, error) {
	current := r.db.Where("NOT EXISTS (SELECT 1 FROM practices AS later WHERE later.name = practices.name AND later.version > practices.version)")
	return list(current, byName("practices"), p, func(row practiceRow) []any { return []any{row.Name} }, practiceRow.practice)
}

func (w *writer) CreatePractice(p practice.Practice) error {
	p.Version = 1
	return w.keepPractice(p, taken("practice", p.Name, next.ListPractices()))
}

func (w *writer) ReplacePractice(p practice.Practice) error {
	now, err := w.Practice(p.Name)
	if err != nil {
		return err
	}
	old := stale("practice", p.Name, p.Version, now.Version, next.ShowPractice(p.Name))
	if now.Version != p.Version {
		return old
	}
	p.Version++
	// Somebody may have made the same version since it was read.
	return w.keepPractice(p, old)
}

func (w *writer) keepPractice(p practice.Practice, conflict error) error {
	w.ownSettings = true
	settings, err := json.Marshal(p.Values)
	if err != nil {
		return fmt.Errorf("practice %s: %w", p.Name, err)
	}
	row := practiceRow{Name: p.Name, Version: p.Version, Mill: p.Scope.Mill, Stand: p.Scope.Stand,
		Role: p.Scope.Role, Grade: p.Scope.Grade, Material: p.Scope.Material, Settings: string(settings)}
	return w.tell(w.create(&row, conflict), port.EventPracticePut, named("practices", p.Name), p.Scope.Mill,
		port.EventData{Name: p.Name, Version: p.Version, Stand: p.Scope.Stand, Role: string(p.Scope.Role)})
}

func (row practiceRow) practice() (practice.Practice, error) {
	p := practice.Practice{Name: row.Name, Version: row.Version,
		Scope: practice.Scope{Mill: row.Mill, Stand: row.Stand, Role: row.Role, Grade: row.Grade, Material: row.Material}}
	if err := json.Unmarshal([]byte(row.Settings), &p.Values); err != nil {
		return p, fmt.Errorf("reading practice %s: %w", row.Name, err)
	}
	return p, nil
}
