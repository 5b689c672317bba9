package store

import (
	"encoding/json"
	"fmt"
	"time"

	"barrelbook/api/app/port"
	"barrelbook/domain/chock"
	"barrelbook/domain/mill"
	"barrelbook/domain/next"
	"barrelbook/domain/roll"
)

type chockRow struct {
	Name    string      `gorm:"column:name;primaryKey"`
	Mill    string      `gorm:"column:mill"`
	Role    mill.Role   `gorm:"column:role"`
	Set     string      `gorm:"column:set_name"`
	Place   chock.Place `gorm:"column:place"`
	Version int64       `gorm:"column:version"`
}

func (chockRow) TableName() string { return "chocks" }

type chockEntryRow struct {
	Chock      string     `gorm:"column:chock;primaryKey"`
	Number     int64      `gorm:"column:number;primaryKey;autoIncrement:false"`
	Kind       chock.Kind `gorm:"column:kind"`
	HappenedAt int64      `gorm:"column:happened_at"`
	RecordedAt int64      `gorm:"column:recorded_at"`
	By         string     `gorm:"column:recorded_by"`
	Body       string     `gorm:"column:body"`
}

func (chockEntryRow) TableName() string { return "chock_entries" }

// The bodies as they are kept for good, with the same care as those of rolls.
type (
	chockReceivedDoc struct {
		Name                    string        `json:"name"`
		Mill                    string        `json:"mill"`
		Role                    mill.Role     `json:"role"`
		Bearing                 string        `json:"bearing"`
		InspectEvery            time.Duration `json:"inspect_every_ns,omitempty"`
		InspectEveryT           float64       `json:"inspect_every_t,omitempty"`
		InspectEveryRevolutions float64       `json:"inspect_every_revolutions,omitempty"`
		Note                    string        `json:"note,omitempty"`
	}
	chockFittedDoc struct {
		Set   string      `json:"set"`
		Place chock.Place `json:"place"`
		Note  string      `json:"note,omitempty"`
	}
	chockTakenOffDoc struct {
		Note string `json:"note,omitempty"`
	}
	chockInspectedDoc struct {
		Outcome    roll.Outcome `json:"outcome"`
		NewBearing string       `json:"new_bearing,omitempty"`
		Note       string       `json:"note,omitempty"`
	}
)

func (r *reader) Chock(name string) (port.ChockRow, error) {
	var row chockRow
	err := r.db.Where("name = ?", name).Take(&row).Error
	return port.ChockRow(row), missing(err, "chock", name, next.ListChocks())
}

func (r *reader) Chocks(f port.ChockFilter, p port.Page) ([]port.ChockRow, string, error) {
	q := r.db
	if f.Mill != "" {
		q = q.Where("mill = ?", f.Mill)
	}
	if f.Set != "" {
		q = q.Where("set_name = ?", f.Set)
	}
	return list(q, order{list: "chocks", columns: []string{"name"}, numbers: "t"}, p,
		func(row chockRow) []any { return []any{row.Name} },
		func(row chockRow) (port.ChockRow, error) { return port.ChockRow(row), nil })
}

func (r *reader) ChockBook(name string) ([]chock.Entry, error) {
	var rows []chockEntryRow
	if err := r.db.Where("chock = ?", name).Order("number").Find(&rows).Error; err != nil {
		return nil, err
	}
	if len(rows) == 0 {
		return nil, notFound("chock", name, next.ListChocks())
	}
	return convert(rows, chockEntryRow.entry)
}

func (r *reader) ChockEntries(name string, p port.Page) ([]chock.Entry, string, error) {
	return list(r.db.Where("chock = ?", name), order{list: "chock entries", columns: []string{"number"}, numbers: "n"}, p,
		func(row chockEntryRow) []any { return []any{row.Number} }, chockEntryRow.entry)
}

// AppendChock writes the projection first, as with rolls: of two writers of one
// book the loser has then written nothing.
func (w *writer) AppendChock(after port.ChockRow, e chock.Entry) error {
	w.ownSettings = true
	body, err := encodeChockBody(e.Body)
	if err != nil {
		return err
	}
	row := chockRow(after)
	if e.Number == 1 {
		err = w.create(&row, taken("chock", after.Name, next.ListChocks()))
	} else {
		err = w.replaceChock(row)
	}
	if err != nil {
		return err
	}
	err = w.db.Create(&chockEntryRow{Chock: e.Chock, Number: e.Number, Kind: e.Body.Kind(), HappenedAt: micros(e.At), RecordedAt: micros(e.RecordedAt), By: e.By, Body: string(body)}).Error
	return w.tell(err, port.EventChockEntry+"."+port.EventKind(e.Body.Kind()), named("chocks", e.Chock), after.Mill, port.EventData{Name: e.Chock, Version: e.Number, When: e.At})
}

func (w *writer) replaceChock(row chockRow) error {
	w.ownSettings = true
	done := w.db.Model(&chockRow{}).Where("name = ? AND version = ?", row.Name, row.Version-1).Select("*").Updates(row)
	if done.Error != nil || done.RowsAffected == 1 {
		return done.Error
	}
	now, err := w.Chock(row.Name)
	if err != nil {
		return err
	}
	return stale("chock", row.Name, row.Version-1, now.Version, next.ShowChock(row.Name))
}

func encodeChockBody(b chock.Body) ([]byte, error) {
	switch b := b.(type) {
	case chock.Received:
		return json.Marshal(chockReceivedDoc{Name: b.Chock.Name, Mill: b.Chock.Mill, Role: b.Chock.Role, Bearing: b.Chock.Bearing, InspectEvery: b.Chock.InspectEvery, InspectEveryT: b.Chock.InspectEveryT, InspectEveryRevolutions: b.Chock.InspectEveryRevolutions, Note: b.Note})
	case chock.Fitted:
		return json.Marshal(chockFittedDoc(b))
	case chock.TakenOff:
		return json.Marshal(chockTakenOffDoc(b))
	case chock.Inspected:
		return json.Marshal(chockInspectedDoc(b))
	}
	return nil, fmt.Errorf("an entry of kind %T cannot be stored", b)
}

func (row chockEntryRow) entry() (chock.Entry, error) {
	e := chock.Entry{Chock: row.Chock, Number: row.Number, At: moment(row.HappenedAt), RecordedAt: moment(row.RecordedAt), By: row.By}
	var err error
	switch text := []byte(row.Body); row.Kind {
	case chock.KindReceived:
		var d chockReceivedDoc
		d, err = strictly[chockReceivedDoc](text)
		e.Body = chock.Received{Chock: chock.Chock{Name: d.Name, Mill: d.Mill, Role: d.Role, Bearing: d.Bearing, InspectEvery: d.InspectEvery,
			InspectEveryT: d.InspectEveryT, InspectEveryRevolutions: d.InspectEveryRevolutions}, Note: d.Note}
	case chock.KindFitted:
		var d chockFittedDoc
		d, err = strictly[chockFittedDoc](text)
		e.Body = chock.Fitted(d)
	case chock.KindTakenOff:
		var d chockTakenOffDoc
		d, err = strictly[chockTakenOffDoc](text)
		e.Body = chock.TakenOff(d)
	case chock.KindInspected:
		var d chockInspectedDoc
		d, err = strictly[chockInspectedDoc](text)
		e.Body = chock.Inspected(d)
	default:
		err = fmt.Errorf("%q is not a kind of entry that this version knows", row.Kind)
	}
	if err != nil {
		return e, fmt.Errorf("reading entry %d of chock %s: %w", row.Number, row.Chock, err)
	}
	return e, nil
}
