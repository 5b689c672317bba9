package store

import (
	"encoding/json"
	"fmt"
	"time"

	"barrelbook/api/app/port"
	"barrelbook/domain/next"
	"barrelbook/domain/roll"
)

type incidentRow struct {
	Name       string    `gorm:"column:name;primaryKey"`
	What       roll.What `gorm:"column:what"`
	Stand      string    `gorm:"column:stand"`
	HappenedAt int64     `gorm:"column:happened_at"`
	Rolls      string    `gorm:"column:rolls"` // JSON list of numbers
	By         string    `gorm:"column:recorded_by"`
	Note       string    `gorm:"column:note"`
	UndoneAt   *int64    `gorm:"column:undone_at"`
	UndoneBy   string    `gorm:"column:undone_by"`
	UndoneWhy  string    `gorm:"column:undone_why"`
}

func (incidentRow) TableName() string { return "incidents" }

func (r *reader) Incidents(p port.Page) ([]port.IncidentRow, string, error) {
	return list(r.db, newestFirst("incidents", p), p,
		func(row incidentRow) []any { return []any{row.HappenedAt, row.Name} },
		incidentRow.incident)
}

func (r *reader) Incident(name string) (port.IncidentRow, error) {
	var row incidentRow
	if err := r.db.Where("name = ?", name).Take(&row).Error; err != nil {
		return port.IncidentRow{}, missing(err, "incident", name, next.ListIncidents())
	}
	return row.incident()
}

func (row incidentRow) incident() (port.IncidentRow, error) {
	i := port.IncidentRow{Name: row.Name, What: row.What, Stand: row.Stand, At: moment(row.HappenedAt), By: row.By, Note: row.Note,
		UndoneAt: momentOrZero(row.UndoneAt), UndoneBy: row.UndoneBy, UndoneWhy: row.UndoneWhy}
	if err := json.Unmarshal([]byte(row.Rolls), &i.Rolls); err != nil {
		return i, fmt.Errorf("reading incident %s: %w", row.Name, err)
	}
	return i, nil
}

func (w *writer) UndoIncident(name string, at time.Time, by, why string) error {
	done := w.db.Model(&incidentRow{}).Where("name = ? AND undone_at IS NULL", name).
		Updates(map[string]any{"undone_at": micros(at), "undone_by": by, "undone_why": why})
	if done.Error != nil {
		return done.Error
	}
	i, err := w.Incident(name)
	if err != nil || done.RowsAffected == 1 {
		return w.tellIncident(err, port.EventIncidentUndone, i)
	}
	return refuseNext(next.ListIncidents(), port.Conflicting, "incident %s was undone already", name)
}

func (w *writer) tellIncident(err error, kind port.EventKind, i port.IncidentRow) error {
	return w.tell(err, kind, named("incidents", i.Name), "", port.EventData{Name: i.Name, Stand: i.Stand, What: string(i.What), Rolls: i.Rolls, When: i.At})
}

func (w *writer) MoveIncident(i port.IncidentRow) error {
	rolls, err := json.Marshal(i.Rolls)
	if err != nil {
		return err
	}
	return w.tellIncident(w.changeOne(&incidentRow{}, "name", i.Name, map[string]any{"rolls": string(rolls)}, notFound("incident", i.Name, next.ListIncidents())), port.EventIncidentMoved, i)
}

func (w *writer) CreateIncident(i port.IncidentRow) error {
	rolls, err := json.Marshal(i.Rolls)
	if err != nil {
		return err
	}
	row := incidentRow{Name: i.Name, What: i.What, Stand: i.Stand, HappenedAt: micros(i.At), Rolls: string(rolls), By: i.By, Note: i.Note}
	return w.tellIncident(w.create(&row, taken("incident", i.Name, next.ListIncidents())), port.EventIncident, i)
}
