package store

import (
	"barrelbook/api/app/port"
)

type auditRow struct {
	ID         int64  `gorm:"column:id;primaryKey"`
	HappenedAt int64  `gorm:"column:happened_at"`
	Actor      string `gorm:"column:actor"`
	What       string `gorm:"column:what"`
	RequestID  string `gorm:"column:request_id"`
}

func (auditRow) TableName() string { return "audit" }

func (r *reader) Audit(p port.Page) ([]port.AuditRow, string, error) {
	newest := order{list: "audit", columns: []string{"id"}, numbers: "n", newest: true}
	return list(r.db, newest, p, func(row auditRow) []any { return []any{row.ID} },
		func(row auditRow) (port.AuditRow, error) {
			return port.AuditRow{At: moment(row.HappenedAt), By: row.Actor, What: row.What, RequestID: row.RequestID}, nil
		})
}

func (w *writer) WriteAudit(a port.AuditRow) error {
	return w.db.Create(&auditRow{HappenedAt: micros(a.At), Actor: a.By, What: a.What, RequestID: a.RequestID}).Error
}
