package store

import (
	"fmt"
	"slices"

	"barrelbook/api/app/port"
	"barrelbook/domain/mill"
	"barrelbook/domain/next"
	"barrelbook/domain/quantity"
	"barrelbook/domain/roll"
)

// rollRow is the projection of a book. State is the truth of the row; the
// columns before it repeat what lists filter by.
type rollRow struct {
	Number   string              `gorm:"column:number;primaryKey"`
	Version  int64               `gorm:"column:version"`
	Stage    roll.Stage          `gorm:"column:stage"`
	Role     mill.Role           `gorm:"column:role"`
	Mill     string              `gorm:"column:mill"`
	Grade    string              `gorm:"column:grade"`
	Stand    string              `gorm:"column:stand"`
	Set      string              `gorm:"column:set_name"`
	Held     bool                `gorm:"column:held"`
	Diameter quantity.Micrometre `gorm:"column:diameter_um"`
	Hash     string              `gorm:"column:hash"`
	State    string              `gorm:"column:state"`
	Totals   string              `gorm:"column:totals"`
	Rules    int64               `gorm:"column:rules"`
}

func (rollRow) TableName() string { return "roll_states" }

// namesPerQuery keeps lists of names well below the parameters that either
// database takes in one statement.
const namesPerQuery = 5000

func (r *reader) Roll(number string) (port.RollRow, error) {
	var row rollRow
	if err := r.db.Where("number = ?", number).Take(&row).Error; err != nil {
		return port.RollRow{}, missing(err, "roll", number, next.ListRolls())
	}
	return row.roll()
}

func (r *reader) RollsByNumber(numbers []string) ([]port.RollRow, error) {
	var all []port.RollRow
	for chunk := range slices.Chunk(sorted(numbers), namesPerQuery) {
		var rows []rollRow
		if err := r.db.Where("number IN ?", chunk).Order("number").Find(&rows).Error; err != nil {
			return nil, err
		}
		rolls, err := convert(rows, rollRow.roll)
		if err != nil {
			return nil, err
		}
		all = append(all, rolls...)
	}
	return all, nil
}

func (r *reader) RollNames() (names []port.RollName, err error) {
	err = r.db.Model(&rollRow{}).Select("number", "mill", "role", "grade", "stage").Order("number").Find(&names).Error
	return names, err
}

func (r *reader) RollCut() (cut port.RollCut, err error) {
	err = r.db.Model(&rollRow{}).Select("count(*) AS count, count(CASE WHEN stage = ? THEN 1 END) AS scrapped", roll.StageScrapped).Scan(&cut).Error
	return cut, err
}

// sorted is the names in order, each once.
func sorted(names []string) []string {
	return slices.Compact(slices.Sorted(slices.Values(names)))
}

func (r *reader) Rolls(f port.RollFilter, p port.Page) ([]port.RollRow, string, error) {
	q := r.db
	for _, part := range []struct{ column, value string }{
		{"stage", string(f.Stage)}, {"role", string(f.Role)}, {"mill", f.Mill}, {"stand", f.Stand}, {"grade", f.Grade}, {"set_name", f.Set},
	} {
		if part.value != "" {
			q = q.Where(part.column+" = ?", part.value)
		}
	}
	switch {
	case f.Held == nil:
	case *f.Held:
		q = q.Where("held") // as the index has it
	default:
		q = q.Where("NOT held")
	}
	by, place := order{list: "rolls", columns: []string{"number"}, numbers: "t", newest: p.Sort == port.NumberDown}, func(row rollRow) []any { return []any{row.Number} }
	if p.Sort == port.DiameterUp || p.Sort == port.DiameterDown {
		by = order{list: "rolls by diameter", columns: []string{"diameter_um", "number"}, numbers: "nt", newest: p.Sort == port.DiameterDown}
		place = func(row rollRow) []any { return []any{row.Diameter, row.Number} }
	}
	return list(q, by, p, place, rollRow.roll)
}

func (row rollRow) roll() (port.RollRow, error) {
	state, err := decodeState(row.State)
	if err != nil {
		return port.RollRow{}, fmt.Errorf("reading the state of roll %s: %w", row.Number, err)
	}
	totals, err := decodeUsage(row.Totals)
	if err != nil {
		return port.RollRow{}, fmt.Errorf("reading the totals of roll %s: %w", row.Number, err)
	}
	return port.RollRow{State: state, Totals: totals, Hash: row.Hash}, nil
}

// newRollRow is the row of a state; totals are left to those who count them.
func newRollRow(s roll.State, hash string) (rollRow, error) {
	state, err := encodeState(s)
	return rollRow{Number: s.Roll.Number, Version: s.Entries, Stage: s.Stage, Role: s.Roll.Role, Mill: s.Mill, Grade: s.Roll.Grade,
		Stand: s.Stand, Set: s.Set, Held: s.HeldFor != "", Diameter: s.Diameter, Hash: hash, State: state, Rules: projectionRules}, err
}

// project writes the state after an entry over the one before it.
func (w *writer) project(before port.RollRow, after rollRow) error {
	if before.Version() == 0 {
		var err error
		if after.Totals, err = encodeUsage(before.Totals); err != nil {
			return err
		}
		return w.create(&after, refuse(port.Conflicting,
			"there is a book of roll %s already; roll numbers are never used again, so receive it under another number", after.Number))
	}
	done := w.db.Model(&rollRow{}).Where("number = ? AND version = ? AND hash = ?", after.Number, before.Version(), before.Hash).
		Select("*").Omit("number", "totals").Updates(after)
	if done.Error != nil || done.RowsAffected == 1 {
		return done.Error
	}
	var now rollRow
	if err := w.db.Select("version").Where("number = ?", after.Number).Take(&now).Error; err != nil {
		return missing(err, "roll", after.Number, next.ListRolls())
	}
	return stale("roll", after.Number, before.Version(), now.Version, next.ShowRoll(after.Number))
}
