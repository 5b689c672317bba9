package store

import (
	"context"
	"fmt"
	"slices"
	"time"

	"barrelbook/api/app/port"
	"barrelbook/domain/mill"
	"barrelbook/domain/quantity"
	"barrelbook/domain/roll"
	"barrelbook/migrations"
)

// grindRow is a regrind of a book as it now stands: a projection, written by
// Append.
type grindRow struct {
	ID         int64               `gorm:"column:id;primaryKey"`
	Roll       string              `gorm:"column:roll"`
	Entry      int64               `gorm:"column:entry"`
	HappenedAt int64               `gorm:"column:happened_at"`
	RecordedAt int64               `gorm:"column:recorded_at"`
	SinceAt    int64               `gorm:"column:since_at"`
	LastGround quantity.Micrometre `gorm:"column:last_ground_um"`
	Found      quantity.Micrometre `gorm:"column:found_um"`
	Ground     quantity.Micrometre `gorm:"column:ground_um"`
	Purpose    roll.Purpose        `gorm:"column:purpose"`
}

func (grindRow) TableName() string { return "grinds" }

// newGrindRow leaves the stays out, which the mountings have, and the mishaps.
func newGrindRow(g roll.Grind) grindRow {
	return grindRow{Roll: g.Roll, Entry: g.Entry, HappenedAt: micros(g.At), RecordedAt: micros(g.RecordedAt), SinceAt: micros(g.Since),
		LastGround: g.LastGround, Found: g.Found, Ground: g.Ground, Purpose: g.For}
}

func (row grindRow) grind() roll.Grind {
	return roll.Grind{Roll: row.Roll, Entry: row.Entry, At: moment(row.HappenedAt), RecordedAt: moment(row.RecordedAt), Since: moment(row.SinceAt),
		LastGround: row.LastGround, Found: row.Found, Ground: row.Ground, For: row.Purpose}
}

// keepGrinds brings the regrinds of a roll up to date after an entry. One at the
// end of the book is one row more; a correction or a late regrind may change
// others too, and has them all written anew, under new ids.
func (w *writer) keepGrinds(before roll.State, e roll.Entry) error {
	switch b := e.Body.(type) {
	case roll.Corrected:
		return w.rewriteGrinds(e.Roll)
	case roll.Reground:
		if e.At.Before(before.LastAt) {
			return w.rewriteGrinds(e.Roll)
		}
		since := before.GroundAt
		if since.IsZero() {
			since = before.ReceivedAt
		}
		row := newGrindRow(roll.Grind{Roll: e.Roll, Entry: e.Number, At: e.At, RecordedAt: e.RecordedAt, Since: since,
			LastGround: before.Diameter, Found: b.Found, Ground: b.Ground, For: b.For})
		return w.db.Create(&row).Error
	}
	return nil
}

// rewriteGrinds replays the book.
func (w *writer) rewriteGrinds(number string) error {
	book, err := w.Book(number)
	if err != nil {
		return err
	}
	rows, err := grindRows(book)
	if err != nil {
		return err
	}
	if err := w.db.Where("roll = ?", number).Delete(&grindRow{}).Error; err != nil || len(rows) == 0 {
		return err
	}
	return w.db.Create(&rows).Error
}

func grindRows(book []roll.Entry) ([]grindRow, error) {
	effective, err := roll.Effective(book)
	if err != nil {
		return nil, err
	}
	var rows []grindRow
	for _, g := range roll.Grinds(effective) {
		rows = append(rows, newGrindRow(g))
	}
	return rows, nil
}

// grindsSince is the version of the schema that brought the regrinds.
const grindsSince = 2

// fillGrinds reads the regrinds out of books that are older than their table.
func (s *Store) fillGrinds(ctx context.Context) error {
	var numbers []string
	if err := s.read.WithContext(ctx).Model(&entryRow{}).Distinct("roll").Where("kind = ?", roll.KindReground).Order("roll").Pluck("roll", &numbers).Error; err != nil {
		return err
	}
	for chunk := range slices.Chunk(numbers, 200) {
		err := s.Write(ctx, func(w port.Writer) error {
			for _, number := range chunk {
				if err := w.(*writer).rewriteGrinds(number); err != nil {
					return err
				}
			}
			return nil
		})
		if err != nil {
			return fmt.Errorf("reading the regrinds out of the books: %w", err)
		}
	}
	return nil
}

// renewGrinds gives the regrinds that ended the mountings new ids, because what
// those bore has changed after the fact.
func (w *writer) renewGrinds(mountings []int64) error {
	for chunk := range slices.Chunk(mountings, rowsPerUpdate) {
		var rows []grindRow
		err := w.db.Raw(`SELECT DISTINCT g.* FROM mountings m JOIN grinds g ON g.roll = m.roll
			AND m.withdrawn_at > g.since_at AND m.withdrawn_at <= g.happened_at WHERE m.id IN ? ORDER BY g.id`, chunk).Scan(&rows).Error
		if err != nil {
			return err
		}
		if err := w.giveNewIDs(rows); err != nil {
			return err
		}
	}
	return nil
}

// renewGrindsOf does so with all regrinds of rolls since a moment, for where the
// mountings themselves are others.
func (w *writer) renewGrindsOf(rolls []string, since time.Time) error {
	var rows []grindRow
	if err := w.db.Where("roll IN ? AND happened_at >= ?", rolls, micros(since)).Order("id").Find(&rows).Error; err != nil {
		return err
	}
	return w.giveNewIDs(rows)
}

func (w *writer) giveNewIDs(rows []grindRow) error {
	if len(rows) == 0 {
		return nil
	}
	ids := make([]int64, len(rows))
	for i := range rows {
		ids[i], rows[i].ID = rows[i].ID, 0
	}
	for chunk := range slices.Chunk(ids, rowsPerUpdate) {
		if err := w.db.Where("id IN ?", chunk).Delete(&grindRow{}).Error; err != nil {
			return err
		}
	}
	return w.db.CreateInBatches(&rows, 1000).Error
}

func (r *reader) GrindCut() (port.GrindCut, error) {
	var c port.GrindCut
	err := r.db.Raw("SELECT coalesce(max(id), 0) AS newest, count(*) AS count FROM grinds").Scan(&c).Error
	return c, err
}

// grindOfRoll is a regrind with what its roll is.
type grindOfRoll struct {
	Row   grindRow  `gorm:"embedded"`
	Grade string    `gorm:"column:grade"`
	Role  mill.Role `gorm:"column:role"`
}

func (r *reader) Grinds(f port.GrindFilter, p port.Page) ([]port.GrindRow, string, error) {
	q := r.db.Table("grinds").Select("grinds.*, roll_states.grade, roll_states.role").Joins("JOIN roll_states ON roll_states.number = grinds.roll")
	if f.AfterID > 0 {
		q = q.Where("grinds.id > ?", f.AfterID)
	}
	for _, part := range []struct{ column, value string }{{"grinds.roll", f.Roll}, {"roll_states.grade", f.Grade}, {"roll_states.role", string(f.Role)}} {
		if part.value != "" {
			q = q.Where(part.column+" = ?", part.value)
		}
	}
	if !f.From.IsZero() {
		q = q.Where("grinds.happened_at >= ?", micros(f.From))
	}
	if !f.Until.IsZero() {
		q = q.Where("grinds.happened_at < ?", micros(f.Until))
	}
	rows, next, err := page(q, order{list: "grinds", columns: []string{"id"}, numbers: "n"}, p, func(row grindOfRoll) []any { return []any{row.Row.ID} })
	if err != nil {
		return nil, "", err
	}
	items := make([]port.GrindRow, len(rows))
	for i, row := range rows {
		items[i] = port.GrindRow{ID: row.Row.ID, Grind: row.Row.grind(), Grade: row.Grade, Role: row.Role}
	}
	return items, next, r.addUses(items)
}

// stayRow is a mounting without the wear along the barrel, which is most of it.
type stayRow struct {
	Roll        string  `gorm:"column:roll"`
	Stand       string  `gorm:"column:stand"`
	MountedAt   int64   `gorm:"column:mounted_at"`
	WithdrawnAt int64   `gorm:"column:withdrawn_at"`
	TonnageT    float64 `gorm:"column:tonnage_t"`
	RolledKM    float64 `gorm:"column:rolled_km"`
	ExposureKM  float64 `gorm:"column:exposure_km"`
}

// usageNumber is a number of the usage document of a mounting.
func (r *reader) usageNumber(name string) string {
	if r.dialect == migrations.SQLite {
		return fmt.Sprintf("coalesce(json_extract(usage, '$.%s'), 0.0) AS %s", name, name)
	}
	return fmt.Sprintf("coalesce((usage::json ->> '%s')::double precision, 0) AS %s", name, name)
}

// addUses puts the stays in stands to the regrinds that ended them.
func (r *reader) addUses(items []port.GrindRow) error {
	byRoll := map[string][]int{}
	for i, g := range items {
		byRoll[g.Roll] = append(byRoll[g.Roll], i)
	}
	for chunk := range slices.Chunk(keys(byRoll), namesPerQuery) {
		first, last := int64(1<<62), int64(-1<<62)
		for _, number := range chunk {
			for _, i := range byRoll[number] {
				first, last = min(first, micros(items[i].Since)), max(last, micros(items[i].At))
			}
		}
		var rows []stayRow
		err := r.db.Table("mountings").Select("roll, stand, mounted_at, withdrawn_at, "+r.usageNumber("tonnage_t")+", "+r.usageNumber("rolled_km")+", "+r.usageNumber("exposure_km")).
			Where("roll IN ? AND withdrawn_at > ? AND withdrawn_at <= ?", chunk, first, last).Order("roll, mounted_at, id").Find(&rows).Error
		if err != nil {
			return err
		}
		for _, row := range rows {
			for _, i := range byRoll[row.Roll] {
				if g := &items[i]; row.WithdrawnAt > micros(g.Since) && row.WithdrawnAt <= micros(g.At) {
					g.Uses = append(g.Uses, port.StayUse{Stand: row.Stand, MountedAt: moment(row.MountedAt), WithdrawnAt: moment(row.WithdrawnAt),
						TonnageT: row.TonnageT, RolledKM: row.RolledKM, ExposureKM: row.ExposureKM})
					g.Stays = append(g.Stays, roll.TimeInStand{Stand: row.Stand, From: moment(row.MountedAt), To: moment(row.WithdrawnAt)})
				}
			}
		}
	}
	return nil
}

// Rolled adds up here: a month has no expression that both databases share.
func (r *reader) Rolled(from, until time.Time) ([]port.StandRolled, error) {
	q := r.db.Table("mountings").Select("roll, stand, mounted_at, withdrawn_at, "+r.usageNumber("tonnage_t")).
		Where("position = ? AND withdrawn_at IS NOT NULL", mill.TopWork)
	if !from.IsZero() {
		q = q.Where("withdrawn_at >= ?", micros(from))
	}
	if !until.IsZero() {
		q = q.Where("withdrawn_at < ?", micros(until))
	}
	var rows []stayRow
	if err := q.Order("stand, withdrawn_at, id").Find(&rows).Error; err != nil {
		return nil, err
	}
	var months []port.StandRolled
	for _, row := range rows {
		month := moment(row.WithdrawnAt).UTC().Format("2006-01")
		if n := len(months); n == 0 || months[n-1].Stand != row.Stand || months[n-1].Month != month {
			months = append(months, port.StandRolled{Stand: row.Stand, Month: month})
		}
		months[len(months)-1].TonnageT += row.TonnageT
	}
	return months, nil
}
