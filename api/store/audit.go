package store

import (
	"slices"
	"strings"

	"barrelbook/api/app/port"
)

type auditRow struct {
	ID         int64     `gorm:"column:id;primaryKey"`
	HappenedAt int64     `gorm:"column:happened_at"`
	Actor      string    `gorm:"column:actor"`
	What       string    `gorm:"column:what"`
	RequestID  string    `gorm:"column:request_id"`
	Role       port.Role `gorm:"column:role"`
	Operation  string    `gorm:"column:operation"`
	Subjects   string    `gorm:"column:subjects"` // parted by blanks
}

func (auditRow) TableName() string { return "audit" }

// mostSubjects is how many things a line names: a rebooking may touch hundreds.
const mostSubjects = 50

func (r *reader) Audit(f port.AuditFilter, p port.Page) ([]port.AuditRow, string, error) {
	newest := order{list: "audit", columns: []string{"id"}, numbers: "n", newest: true}
	q := r.db
	for _, part := range []struct{ column, value string }{{"actor", f.By}, {"operation", f.Operation}, {"request_id", f.RequestID}} {
		if part.value != "" {
			q = q.Where(part.column+" = ?", part.value)
		}
	}
	if f.Subject != "" {
		q = q.Where("' ' || subjects || ' ' LIKE ? ESCAPE '!'", "% "+strings.NewReplacer("!", "!!", "%", "!%", "_", "!_").Replace(f.Subject)+" %")
	}
	if !f.From.IsZero() {
		q = q.Where("happened_at >= ?", micros(f.From))
	}
	if !f.Until.IsZero() {
		q = q.Where("happened_at < ?", micros(f.Until))
	}
	return list(q, newest, p, func(row auditRow) []any { return []any{row.ID} },
		func(row auditRow) (port.AuditRow, error) {
			return port.AuditRow{At: moment(row.HappenedAt), By: row.Actor, What: row.What, RequestID: row.RequestID,
				Role: row.Role, Operation: row.Operation, Subjects: strings.Fields(row.Subjects)}, nil
		})
}

func (w *writer) WriteAudit(a port.AuditRow) error {
	subjects := a.Subjects
	for _, u := range w.untold {
		if len(subjects) < mostSubjects && !slices.Contains(subjects, u.Subject) {
			subjects = append(subjects, u.Subject)
		}
	}
	return w.db.Create(&auditRow{HappenedAt: micros(a.At), Actor: a.By, What: a.What, RequestID: a.RequestID, Role: a.Role, Operation: a.Operation, Subjects: strings.Join(subjects, " ")}).Error
}
