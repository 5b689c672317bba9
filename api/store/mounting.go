package store

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

	"gorm.io/gorm"

	"barrelbook/api/app/port"
	"barrelbook/domain/duty"
	"barrelbook/domain/mill"
	"barrelbook/domain/next"
	"barrelbook/domain/quantity"
)

type mountingRow struct {
	ID          int64               `gorm:"column:id;primaryKey"`
	Roll        string              `gorm:"column:roll"`
	Stand       string              `gorm:"column:stand"`
	Position    mill.Position       `gorm:"column:position"`
	Set         string              `gorm:"column:set_name"`
	MountedAt   int64               `gorm:"column:mounted_at"`
	WithdrawnAt *int64              `gorm:"column:withdrawn_at"`
	Diameter    quantity.Micrometre `gorm:"column:diameter_um"`
	Usage       string              `gorm:"column:usage"`
}

func (mountingRow) TableName() string { return "mountings" }

// mountingEnd is the expression that the index on the ends of mountings is
// over, to the letter; with another one a query would read the whole history
// of a stand.
const mountingEnd = "coalesce(withdrawn_at, 9223372036854775807)"

func (r *reader) MountingsAt(stands []string, at time.Time) ([]port.Stay, error) {
	// A roll is in from its mounting on, and out at the moment of withdrawal.
	return readMountings(r.endingAfter(stands, at).Where("mounted_at <= ?", micros(at)))
}

func (r *reader) MountingsBetween(stands []string, from, until time.Time) ([]port.Stay, error) {
	q := r.endingAfter(stands, from)
	if !until.IsZero() {
		q = q.Where("mounted_at <= ?", micros(until))
	}
	return readMountings(q)
}

func (r *reader) endingAfter(stands []string, at time.Time) *gorm.DB {
	return r.db.Where("stand IN ?", stands).Where(mountingEnd+" > ?", micros(at)).Order("stand, mounted_at, position")
}

func readMountings(q *gorm.DB) ([]port.Stay, error) {
	var rows []mountingRow
	if err := q.Find(&rows).Error; err != nil {
		return nil, err
	}
	return convert(rows, mountingRow.mounting)
}

func (r *reader) Mountings(rollNumber string, p port.Page) ([]port.Stay, string, error) {
	newest := order{list: "mountings", columns: []string{"mounted_at", "id"}, numbers: "nn", newest: true}
	return list(r.db.Where("roll = ?", rollNumber), newest, p,
		func(row mountingRow) []any { return []any{row.MountedAt, row.ID} }, mountingRow.mounting)
}

func (row mountingRow) mounting() (port.Stay, error) {
	usage, err := decodeUsage(row.Usage)
	if err != nil {
		return port.Stay{}, fmt.Errorf("reading the usage of mounting %d: %w", row.ID, err)
	}
	return port.Stay{ID: row.ID, Roll: row.Roll, Stand: row.Stand, Position: row.Position, Set: row.Set,
		MountedAt: moment(row.MountedAt), WithdrawnAt: momentOrZero(row.WithdrawnAt), Diameter: row.Diameter, Usage: usage}, nil
}

func (w *writer) OpenMounting(m port.Stay) (int64, error) {
	usage, err := encodeUsage(m.Usage)
	if err != nil {
		return 0, fmt.Errorf("the usage of roll %s in %s: %w", m.Roll, m.Stand, err)
	}
	row := mountingRow{Roll: m.Roll, Stand: m.Stand, Position: m.Position, Set: m.Set, MountedAt: micros(m.MountedAt),
		WithdrawnAt: microsOrNull(m.WithdrawnAt), Diameter: m.Diameter, Usage: usage}
	err = w.create(&row, refuseNext(next.ShowStand(m.Stand), port.Conflicting, "roll %s is in a stand already, or another roll is in %s (%s)",
		m.Roll, m.Stand, strings.ReplaceAll(string(m.Position), "_", " ")))
	return row.ID, err
}

func (w *writer) AddPastStays(stays []port.Stay) error {
	rows, totals := make([]mountingRow, len(stays)), map[string]duty.Usage{}
	for i, m := range stays {
		usage, err := encodeUsage(m.Usage)
		if err != nil {
			return fmt.Errorf("the usage of roll %s in %s: %w", m.Roll, m.Stand, err)
		}
		rows[i] = mountingRow{Roll: m.Roll, Stand: m.Stand, Position: m.Position, Set: m.Set, MountedAt: micros(m.MountedAt), WithdrawnAt: microsOrNull(m.WithdrawnAt), Diameter: m.Diameter, Usage: usage}
		sum := totals[m.Roll]
		sum.Add(m.Usage)
		totals[m.Roll] = sum
	}
	if len(rows) == 0 {
		return nil
	}
	if err := w.db.CreateInBatches(&rows, 1000).Error; err != nil {
		return err
	}
	return addTo(w, usageColumn[string]{table: "roll_states", key: "number", keyType: "TEXT", column: "totals"}, totals)
}

func (w *writer) MoveMounting(m port.Stay) error {
	return w.changeOne(&mountingRow{}, "id", m.ID, map[string]any{"mounted_at": micros(m.MountedAt), "withdrawn_at": microsOrNull(m.WithdrawnAt), "diameter_um": m.Diameter},
		notFound("mounting", strconv.FormatInt(m.ID, 10), next.ListStands()))
}

func (w *writer) RemoveMounting(id int64) error {
	done := w.db.Where("id = ?", id).Delete(&mountingRow{})
	if done.Error != nil || done.RowsAffected == 1 {
		return done.Error
	}
	return notFound("mounting", strconv.FormatInt(id, 10), next.ListStands())
}

// AddUsage reads, adds here and writes back: two statements for the mountings
// and two for their rolls, however many there are. Rolls are locked before
// mountings and both in order, as everywhere.
func (w *writer) AddUsage(additions map[int64]duty.Usage) error {
	ids := keys(additions)
	rolls := map[string]duty.Usage{}
	var ended []int64 // mountings that are over: a regrind may have been read with less
	for chunk := range slices.Chunk(ids, rowsPerUpdate) {
		var of []mountingRow
		if err := w.db.Select("id", "roll", "withdrawn_at").Where("id IN ?", chunk).Order("id").Find(&of).Error; err != nil {
			return err
		}
		for i, id := range chunk {
			if i >= len(of) || of[i].ID != id {
				return notFound("mounting", strconv.FormatInt(id, 10), next.ListStands())
			}
			sum := rolls[of[i].Roll]
			sum.Add(additions[id])
			rolls[of[i].Roll] = sum
			if of[i].WithdrawnAt != nil {
				ended = append(ended, id)
			}
		}
	}
	if err := addTo(w, usageColumn[string]{table: "roll_states", key: "number", keyType: "TEXT", column: "totals"}, rolls); err != nil {
		return err
	}
	if err := addTo(w, usageColumn[int64]{table: "mountings", key: "id", keyType: "BIGINT", column: "usage"}, additions); err != nil {
		return err
	}
	return w.renewGrinds(ended)
}

func (w *writer) PutUsage(usages map[int64]duty.Usage) error {
	return putUsages(w, usageColumn[int64]{table: "mountings", key: "id", keyType: "BIGINT", column: "usage"}, usages)
}

// SumTotals adds in the order of the mountings, as they would have been added in
// time.
func (w *writer) SumTotals(rolls []string, since time.Time) error {
	totals := map[string]duty.Usage{}
	for _, number := range rolls {
		totals[number] = duty.Usage{}
	}
	for chunk := range slices.Chunk(keys(totals), namesPerQuery) {
		all, err := readMountings(w.db.Where("roll IN ?", chunk).Order("mounted_at, id"))
		if err != nil {
			return err
		}
		for _, m := range all {
			sum := totals[m.Roll]
			sum.Add(m.Usage)
			totals[m.Roll] = sum
		}
		if err := w.renewGrindsOf(chunk, since); err != nil {
			return err
		}
	}
	return putUsages(w, usageColumn[string]{table: "roll_states", key: "number", keyType: "TEXT", column: "totals"}, totals)
}
