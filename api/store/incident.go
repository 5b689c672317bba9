package store

import (
	"encoding/json"
	"fmt"

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
}

func (incidentRow) TableName() string { return "incidents" }

func (r *reader) Incidents(p port.Page) ([]port.IncidentRow, string, error) {
	return list(r.db, newestFirst("incidents", p), p,
		func(row incidentRow) []any { return []any{row.HappenedAt, row.Name} },
		func(row incidentRow) (port.IncidentRow, error) {
			i := port.IncidentRow{Name: row.Name, What: row.What, Stand: row.Stand, At: moment(row.HappenedAt), By: row.By, Note: row.Note}
			if err := json.Unmarshal([]byte(row.Rolls), &i.Rolls); err != nil {
				return i, fmt.Errorf("reading incident %s: %w", row.Name, err)
			}
			return i, nil
		})
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
