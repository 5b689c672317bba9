package store

import (
	"encoding/json"
	"fmt"
	"strings"
	"time"

	"gorm.io/gorm"

	"barrelbook/api/app/port"
	"barrelbook/migrations"
)

type eventRow struct {
	ID         int64          `gorm:"column:id;primaryKey"`
	Position   *int64         `gorm:"column:position;->"`
	Kind       port.EventKind `gorm:"column:kind"`
	Subject    string         `gorm:"column:subject"`
	Mill       string         `gorm:"column:mill"`
	RecordedAt int64          `gorm:"column:recorded_at"`
	Roll       string         `gorm:"column:roll"`  // of an entry, else empty
	Entry      int64          `gorm:"column:entry"` // its number, else 0
	Data       string         `gorm:"column:data"`
}

func (eventRow) TableName() string { return "events" }

// eventDoc is what an event says beside its kind, as it is kept.
type eventDoc struct {
	Name    string     `json:"name,omitempty"`
	Version int64      `json:"version,omitempty"`
	Stand   string     `json:"stand,omitempty"`
	Role    string     `json:"role,omitempty"`
	SetOut  string     `json:"set_out,omitempty"`
	SetIn   string     `json:"set_in,omitempty"`
	What    string     `json:"what,omitempty"`
	Rolls   []string   `json:"rolls,omitempty"`
	When    *time.Time `json:"when,omitempty"`
	Count   int64      `json:"count,omitempty"`
}

func (row eventRow) place() port.EventPlace {
	return port.EventPlace{Position: *row.Position, At: moment(row.RecordedAt)}
}

func (row eventRow) event() (port.Event, error) {
	e := port.Event{EventPlace: row.place(), Kind: row.Kind, Subject: row.Subject, Mill: row.Mill}
	var d eventDoc
	if err := json.Unmarshal([]byte(row.Data), &d); err != nil {
		return e, fmt.Errorf("reading event %d: %w", row.ID, err)
	}
	e.EventData = port.EventData{Name: d.Name, Version: d.Version, Stand: d.Stand, Role: d.Role, SetOut: d.SetOut, SetIn: d.SetIn, What: d.What, Rolls: d.Rolls, Count: d.Count}
	if d.When != nil {
		e.When = d.When.UTC()
	}
	return e, nil
}

func newEventData(e port.EventData) (string, error) {
	d := eventDoc{Name: e.Name, Version: e.Version, Stand: e.Stand, Role: e.Role, SetOut: e.SetOut, SetIn: e.SetIn, What: e.What, Rolls: e.Rolls, Count: e.Count}
	if !e.When.IsZero() {
		d.When = &e.When
	}
	text, err := json.Marshal(d)
	return string(text), err
}

// eventOrder is the column that holds the order: on SQLite the place of an event
// is its id, of which position is the other name without an index.
func (r *reader) eventOrder() string {
	if r.dialect == migrations.SQLite {
		return "id"
	}
	return "position"
}

func (r *reader) EventSpan() (oldest, newest port.EventPlace, err error) {
	by := r.eventOrder()
	for _, end := range []struct {
		place *port.EventPlace
		order string
	}{{&oldest, by}, {&newest, by + " DESC"}} {
		var rows []eventRow
		if err := r.db.Where(by + " IS NOT NULL").Order(end.order).Limit(1).Find(&rows).Error; err != nil {
			return oldest, newest, err
		}
		if len(rows) > 0 {
			*end.place = rows[0].place()
		}
	}
	return oldest, newest, nil
}

// LastEventBefore goes back from the newest: what is asked for is hours old, and
// the events of an hour are few.
func (r *reader) LastEventBefore(at time.Time) (port.EventPlace, error) {
	by := r.eventOrder()
	var rows []eventRow
	if err := r.db.Where(by+" IS NOT NULL AND recorded_at < ?", at.UnixMicro()).Order(by + " DESC").Limit(1).Find(&rows).Error; err != nil || len(rows) == 0 {
		return port.EventPlace{}, err
	}
	return rows[0].place(), nil
}

func (r *reader) Events(f port.EventFilter, after port.EventPlace, limit int) ([]port.Event, port.EventPlace, error) {
	oldest, newest, err := r.EventSpan()
	if err != nil {
		return nil, after, err
	}
	if err := r.mustBeKept(after, oldest, newest); err != nil {
		return nil, after, err
	}
	if after.Position == newest.Position {
		return nil, after, nil
	}
	by := r.eventOrder()
	q := filterEvents(r.db.Where(by+" > ? AND "+by+" <= ?", after.Position, newest.Position), f)
	var rows []eventRow
	if err := q.Order(by).Limit(limit).Find(&rows).Error; err != nil {
		return nil, after, err
	}
	upTo := newest
	if len(rows) == limit {
		upTo = rows[limit-1].place()
	}
	events, err := convert(rows, eventRow.event)
	if err != nil {
		return nil, after, err
	}
	return events, upTo, r.addEntries(rows, events)
}

// mustBeKept refuses a place from which nothing can be read on without a gap.
func (r *reader) mustBeKept(after, oldest, newest port.EventPlace) error {
	begin := "; read the lists anew and follow from the newest event"
	switch {
	case after.Position > newest.Position:
		return refuse(port.Gone, "the place is beyond the newest event: the books were put back to an earlier state%s", begin)
	case after.Position+1 < oldest.Position:
		return refuse(port.Gone, "events after this place are not kept any more: the oldest kept is of %s%s", port.Moment(oldest.At), begin)
	case after.Position == 0 || after.Position < oldest.Position:
		return nil
	}
	var row eventRow
	if err := r.db.Where(r.eventOrder()+" = ?", after.Position).Take(&row).Error; err != nil {
		return err
	}
	if !row.place().At.Equal(after.At) {
		return refuse(port.Gone, "the place is of other books than these: they were put back to an earlier state%s", begin)
	}
	return nil
}

func filterEvents(q *gorm.DB, f port.EventFilter) *gorm.DB {
	if len(f.Kinds) > 0 {
		var parts []string
		var values []any
		for _, kind := range f.Kinds {
			parts = append(parts, "kind = ? OR kind >= ? AND kind < ?")
			values = append(values, kind, kind+".", kind+"/") // the slash comes after the dot
		}
		q = q.Where("("+strings.Join(parts, " OR ")+")", values...)
	}
	if len(f.Mills) > 0 {
		q = q.Where("mill IN ?", append([]string{""}, f.Mills...))
	}
	return q
}

// addEntries reads the entries that events name.
func (r *reader) addEntries(rows []eventRow, events []port.Event) error {
	const perQuery = 200
	type key struct {
		roll  string
		entry int64
	}
	at := map[key]int{}
	var keys []any
	for i, row := range rows {
		if row.Entry > 0 {
			at[key{row.Roll, row.Entry}] = i
			keys = append(keys, row.Roll, row.Entry)
		}
	}
	for len(keys) > 0 {
		n := min(len(keys), 2*perQuery)
		marks := strings.TrimSuffix(strings.Repeat("(CAST(? AS TEXT), CAST(? AS BIGINT)),", n/2), ",")
		var found []entryRow
		if err := r.db.Where("(roll, number) IN (VALUES "+marks+")", keys[:n]...).Find(&found).Error; err != nil {
			return err
		}
		for _, row := range found {
			e, err := row.entry()
			if err != nil {
				return err
			}
			events[at[key{row.Roll, row.Number}]].Entry = &e
		}
		keys = keys[n:]
	}
	return nil
}
