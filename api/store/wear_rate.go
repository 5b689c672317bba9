package store

import (
	"encoding/json"
	"fmt"
	"strconv"
	"time"

	"barrelbook/api/app/port"
	"barrelbook/domain/mill"
	"barrelbook/domain/next"
	"barrelbook/domain/wearrate"
)

type wearRateRow struct {
	Version   int64 `gorm:"column:version;primaryKey;autoIncrement:false"`
	LearnedAt int64 `gorm:"column:learned_at"`
	CutID     int64 `gorm:"column:cut_id"`
	CutCount  int64 `gorm:"column:cut_count"`
	Campaigns int64 `gorm:"column:campaigns"`
}

func (wearRateRow) TableName() string { return "wear_rates" }

// wearRatePartRow is a part of the rates for as long as nothing changed it, so
// that a version after one regrind costs one cell and not the whole works.
type wearRatePartRow struct {
	Mill    string    `gorm:"column:mill;primaryKey"`
	Role    mill.Role `gorm:"column:role;primaryKey"`
	Grade   string    `gorm:"column:grade;primaryKey"`
	Stand   string    `gorm:"column:stand;primaryKey"`
	Version int64     `gorm:"column:version;primaryKey;autoIncrement:false"`
	Before  *int64    `gorm:"column:before_version"`
	Doc     string    `gorm:"column:doc"`
}

func (wearRatePartRow) TableName() string { return "wear_rate_parts" }

func (row wearRatePartRow) key() ratePart {
	return ratePart{mill: row.Mill, role: row.Role, grade: row.Grade, stand: row.Stand}
}

// ratePart names a part.
type ratePart struct {
	mill  string
	role  mill.Role
	grade string
	stand string
}

func (r *reader) WearRatesVersion() (int64, error) {
	var version int64
	err := r.db.Raw("SELECT coalesce(max(version), 0) FROM wear_rates").Scan(&version).Error
	return version, err
}

func (r *reader) WearRates() (port.WearRates, error) {
	var row wearRateRow
	if err := r.db.Order("version DESC").Take(&row).Error; err != nil {
		return port.WearRates{}, missing(err, "version of the", "wear rates", next.ListWearRates())
	}
	rates := port.WearRates{Version: row.Version, LearnedAt: moment(row.LearnedAt), Cut: port.GrindCut{Newest: row.CutID, Count: row.CutCount}, Campaigns: row.Campaigns}
	parts, err := r.partsInForce()
	if err != nil {
		return port.WearRates{}, err
	}
	return rates, readParts(parts, &rates)
}

// WearRatesThen reads the parts that had not been replaced by then.
func (r *reader) WearRatesThen(then time.Time, of port.RatesOf) (port.WearRates, error) {
	var row wearRateRow
	if err := r.db.Where("learned_at <= ?", micros(then)).Order("version DESC").Take(&row).Error; err != nil {
		return port.WearRates{}, missing(err, "version of the", "wear rates", next.ListWearRates())
	}
	rates := port.WearRates{Version: row.Version, LearnedAt: moment(row.LearnedAt), Cut: port.GrindCut{Newest: row.CutID, Count: row.CutCount}, Campaigns: row.Campaigns}
	var parts []wearRatePartRow
	err := r.db.Where("mill = ? AND role = ? AND grade IN ? AND stand IN ? AND version <= ? AND (before_version IS NULL OR before_version > ?)",
		of.Mill, of.Role, []string{"", of.Grade}, append([]string{""}, of.Stands...), row.Version, row.Version).Order("mill, role, grade, stand").Find(&parts).Error
	if err != nil {
		return port.WearRates{}, err
	}
	return rates, readParts(parts, &rates)
}

// readParts puts parts together, in the order of their columns: defaults first, then
// a grade before its cells.
func readParts(parts []wearRatePartRow, rates *port.WearRates) error {
	for _, part := range parts {
		if n := len(rates.Mills); n == 0 || rates.Mills[n-1].Mill != part.Mill || rates.Mills[n-1].Role != part.Role {
			rates.Mills = append(rates.Mills, port.MillRates{Mill: part.Mill, Role: part.Role})
		}
		if err := readPart(part, &rates.Mills[len(rates.Mills)-1].Rates); err != nil {
			return fmt.Errorf("reading the wear rates of %s in %s: %w", part.Grade, part.Stand, err)
		}
	}
	for i := range rates.Mills {
		rates.Mills[i].Settle()
	}
	return nil
}

func (r *reader) partsInForce() ([]wearRatePartRow, error) {
	var parts []wearRatePartRow
	err := r.db.Where("before_version IS NULL").Order("mill, role, grade, stand").Find(&parts).Error
	return parts, err
}

// CreateWearRates writes the parts that are not in force as they are.
func (w *writer) CreateWearRates(rates port.WearRates) error {
	row := wearRateRow{Version: rates.Version, LearnedAt: micros(rates.LearnedAt), CutID: rates.Cut.Newest, CutCount: rates.Cut.Count, Campaigns: rates.Campaigns}
	err := w.create(&row, taken("version of the wear rates", strconv.FormatInt(rates.Version, 10), next.ListWearRates()))
	if err := w.tell(err, port.EventRatesLearned, "wear-rates", "", port.EventData{Version: rates.Version, When: rates.LearnedAt}); err != nil {
		return err
	}
	docs := map[ratePart]string{}
	for _, m := range rates.Mills {
		if err := writeParts(m, docs); err != nil {
			return fmt.Errorf("version %d of the wear rates: %w", rates.Version, err)
		}
	}
	inForce, err := w.partsInForce()
	if err != nil {
		return err
	}
	for _, part := range inForce {
		if docs[part.key()] == part.Doc {
			delete(docs, part.key())
			continue
		}
		err := w.db.Model(&wearRatePartRow{}).Where("mill = ? AND role = ? AND grade = ? AND stand = ? AND version = ?", part.Mill, part.Role, part.Grade, part.Stand, part.Version).
			Update("before_version", rates.Version).Error
		if err != nil {
			return err
		}
	}
	var fresh []wearRatePartRow
	for part, doc := range docs {
		fresh = append(fresh, wearRatePartRow{Mill: part.mill, Role: part.role, Grade: part.grade, Stand: part.stand, Version: rates.Version, Before: nil, Doc: doc})
	}
	if len(fresh) == 0 {
		return nil
	}
	return w.db.CreateInBatches(&fresh, 1000).Error
}

// readPart adds a part to the rates of its mill and role.
func readPart(part wearRatePartRow, to *wearrate.Rates) error {
	text := []byte(part.Doc)
	switch {
	case part.Grade == "":
		var d rateDefaultsDoc
		if err := json.Unmarshal(text, &d); err != nil {
			return err
		}
		d.into(to)
	case part.Stand == "":
		var d gradeRateDoc
		if err := json.Unmarshal(text, &d); err != nil {
			return err
		}
		to.Grades = append(to.Grades, d.grade(part.Grade))
	default:
		var d cellRateDoc
		if err := json.Unmarshal(text, &d); err != nil {
			return err
		}
		cell, rolls := d.cell(wearrate.Cell{Grade: part.Grade, Stand: part.Stand})
		to.Cells, to.Rolls = append(to.Cells, cell), append(to.Rolls, rolls...)
	}
	return nil
}

// writeParts takes the rates of a mill and role apart.
func writeParts(m port.MillRates, docs map[ratePart]string) error {
	put := func(grade, stand string, doc any) error {
		text, err := json.Marshal(doc)
		docs[ratePart{mill: m.Mill, role: m.Role, grade: grade, stand: stand}] = string(text)
		return err
	}
	if err := put("", "", newRateDefaultsDoc(m.Rates)); err != nil {
		return err
	}
	for _, g := range m.Grades {
		if err := put(g.Grade, "", newGradeRateDoc(g)); err != nil {
			return err
		}
	}
	rolls := map[wearrate.Cell][]rollRateDoc{}
	for _, r := range m.Rolls {
		rolls[r.Cell] = append(rolls[r.Cell], newRollRateDoc(r))
	}
	for _, c := range m.Cells {
		if err := put(c.Grade, c.Stand, newCellRateDoc(c, rolls[c.Cell])); err != nil {
			return err
		}
	}
	return nil
}
