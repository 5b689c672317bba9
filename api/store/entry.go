package store

import (
	"fmt"

	"barrelbook/api/app/port"
	"barrelbook/domain/next"
	"barrelbook/domain/roll"
)

type entryRow struct {
	Roll       string    `gorm:"column:roll;primaryKey"`
	Number     int64     `gorm:"column:number;primaryKey;autoIncrement:false"`
	Kind       roll.Kind `gorm:"column:kind"`
	HappenedAt int64     `gorm:"column:happened_at"`
	RecordedAt int64     `gorm:"column:recorded_at"`
	By         string    `gorm:"column:recorded_by"`
	Reason     string    `gorm:"column:reason"`
	Body       string    `gorm:"column:body"` // JSON as text: the hash is over these bytes, and jsonb would keep others
	Hash       string    `gorm:"column:hash"`
	Corrects   *int64    `gorm:"column:corrects;->"` // the database reads it out of the body
}

func (entryRow) TableName() string { return "entries" }

func (r *reader) Book(number string) ([]roll.Entry, error) {
	var rows []entryRow
	if err := r.db.Where("roll = ?", number).Order("number").Find(&rows).Error; err != nil {
		return nil, err
	}
	if len(rows) == 0 {
		return nil, notFound("roll", number, next.ListRolls())
	}
	return convert(rows, entryRow.entry)
}

func (r *reader) Entries(number string, p port.Page) ([]roll.Entry, string, error) {
	return list(r.db.Where("roll = ?", number), order{list: "entries", columns: []string{"number"}, numbers: "n"}, p,
		func(row entryRow) []any { return []any{row.Number} }, entryRow.entry)
}

func (r *reader) Corrections(number string, from, to int64) (map[int64]int64, error) {
	var rows []entryRow
	if err := r.db.Select("number", "corrects").Where("roll = ? AND corrects BETWEEN ? AND ?", number, from, to).Order("number").Find(&rows).Error; err != nil {
		return nil, err
	}
	by := map[int64]int64{}
	for _, row := range rows {
		by[*row.Corrects] = row.Number
	}
	return by, nil
}

// Append writes the projection first: its condition on the version is what two
// writers of one book meet at, and the loser has then written nothing.
func (w *writer) Append(row port.RollRow, e roll.Entry, after roll.State) (port.RollRow, error) {
	if e.Number != row.Version()+1 {
		return port.RollRow{}, stale("roll", e.Roll, e.Number-1, row.Version(), next.ShowRoll(e.Roll))
	}
	if after.Entries != e.Number || after.Roll.Number != e.Roll {
		return port.RollRow{}, fmt.Errorf("the state after entry %d of roll %s says entry %d of roll %s", e.Number, e.Roll, after.Entries, after.Roll.Number)
	}
	body, err := encodeBody(e.Body)
	if err != nil {
		return port.RollRow{}, err
	}
	hash := roll.Digest(row.Hash, e, body)
	state, err := newRollRow(after, hash)
	if err != nil {
		return port.RollRow{}, err
	}
	if err := w.project(row, state); err != nil {
		return port.RollRow{}, err
	}
	err = w.db.Create(&entryRow{Roll: e.Roll, Number: e.Number, Kind: e.Body.Kind(), HappenedAt: micros(e.At), RecordedAt: micros(e.RecordedAt),
		By: e.By, Reason: e.Reason, Body: string(body), Hash: hash}).Error
	if err != nil {
		return port.RollRow{}, err
	}
	if err := w.keepGrinds(row.State, e); err != nil {
		return port.RollRow{}, err
	}
	w.tellEntry(e, after.Mill)
	return port.RollRow{State: after, Totals: row.Totals, Hash: hash}, nil
}

// AppendAll has the regrinds read out of the book anew: what it adds may lie
// before others.
func (w *writer) AppendAll(row port.RollRow, add []roll.Entry, after roll.State) error {
	rows := make([]entryRow, len(add))
	hash, ground := row.Hash, false
	for i, e := range add {
		if e.Number != row.Version()+int64(i)+1 {
			return stale("roll", e.Roll, e.Number-1, row.Version()+int64(i), next.ShowRoll(e.Roll))
		}
		body, err := encodeBody(e.Body)
		if err != nil {
			return err
		}
		hash = roll.Digest(hash, e, body)
		_, regrind := e.Body.(roll.Reground)
		ground = ground || regrind
		rows[i] = entryRow{Roll: e.Roll, Number: e.Number, Kind: e.Body.Kind(), HappenedAt: micros(e.At), RecordedAt: micros(e.RecordedAt), By: e.By, Reason: e.Reason, Body: string(body), Hash: hash}
	}
	if last := row.Version() + int64(len(add)); after.Entries != last {
		return fmt.Errorf("the state after entry %d of roll %s says entry %d", last, after.Roll.Number, after.Entries)
	}
	state, err := newRollRow(after, hash)
	if err != nil {
		return err
	}
	if err := w.project(row, state); err != nil {
		return err
	}
	if err := w.db.CreateInBatches(&rows, 500).Error; err != nil || !ground {
		return err
	}
	return w.rewriteGrinds(after.Roll.Number)
}

func (row entryRow) entry() (roll.Entry, error) {
	body, err := decodeBody(row.Kind, []byte(row.Body))
	if err != nil {
		return roll.Entry{}, fmt.Errorf("reading entry %d of roll %s: %w", row.Number, row.Roll, err)
	}
	return roll.Entry{Roll: row.Roll, Number: row.Number, At: moment(row.HappenedAt), RecordedAt: moment(row.RecordedAt),
		By: row.By, Reason: row.Reason, Body: body, Hash: row.Hash}, nil
}
