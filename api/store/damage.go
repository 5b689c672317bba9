package store

import (
	"encoding/binary"
	"fmt"
	"math"
	"slices"

	"gorm.io/gorm/clause"

	"barrelbook/api/app/port"
	"barrelbook/domain/fatigue"
	"barrelbook/domain/quantity"
)

type damageRow struct {
	Roll      string              `gorm:"column:roll;primaryKey"`
	Diameter  quantity.Micrometre `gorm:"column:diameter_um"`
	Stations  int64               `gorm:"column:stations"`
	Layers    int64               `gorm:"column:layers"`
	LayerMM   float64             `gorm:"column:layer_mm"`
	OffMM     float64             `gorm:"column:off_mm"`
	Damage    []byte              `gorm:"column:damage"`
	ThermalUM float64             `gorm:"column:thermal_um"` // the crown of the growth, for readers of the table
	Thermal   []byte              `gorm:"column:thermal_growth"`
	ThermalAt *int64              `gorm:"column:thermal_at"`
}

func (damageRow) TableName() string { return "roll_damage" }

// Damage reads the rows whole: some 13 kB a roll.
func (r *reader) Damage(numbers []string) ([]port.DamageRow, error) {
	var all []port.DamageRow
	for chunk := range slices.Chunk(numbers, namesPerQuery) {
		var rows []damageRow
		if err := r.db.Where("roll IN ?", chunk).Order("roll").Find(&rows).Error; err != nil {
			return nil, err
		}
		damage, err := convert(rows, damageRow.damage)
		if err != nil {
			return nil, err
		}
		all = append(all, damage...)
	}
	return all, nil
}

func (row damageRow) damage() (port.DamageRow, error) {
	d := port.DamageRow{Roll: row.Roll, Diameter: row.Diameter, ThermalAt: momentOrZero(row.ThermalAt),
		Field: fatigue.Field{Stations: int(row.Stations), Layers: int(row.Layers), LayerMM: row.LayerMM, OffMM: row.OffMM, Damage: make([]float64, len(row.Damage)/8)}}
	for i := range d.Field.Damage {
		d.Field.Damage[i] = math.Float64frombits(binary.LittleEndian.Uint64(row.Damage[8*i:]))
	}
	// A row from before growths were kept has none: its roll is taken as cold.
	for i := range min(len(d.Thermal), len(row.Thermal)/8) {
		d.Thermal[i] = math.Float64frombits(binary.LittleEndian.Uint64(row.Thermal[8*i:]))
	}
	if err := d.Field.Check(); err != nil {
		return port.DamageRow{}, fmt.Errorf("reading the damage of roll %s: %w", row.Roll, err)
	}
	return d, nil
}

func (w *writer) RemoveDamage(numbers []string) error {
	for chunk := range slices.Chunk(sorted(numbers), rowsPerUpdate) {
		if err := w.db.Where("roll IN ?", chunk).Delete(&damageRow{}).Error; err != nil {
			return err
		}
	}
	return nil
}

func newDamageRow(d port.DamageRow) (damageRow, error) {
	if err := d.Field.Check(); err != nil {
		return damageRow{}, fmt.Errorf("the damage of roll %s: %w", d.Roll, err)
	}
	for _, um := range d.Thermal {
		if math.IsNaN(um) || math.IsInf(um, 0) {
			return damageRow{}, fmt.Errorf("the thermal growth of roll %s is %v", d.Roll, um)
		}
	}
	row := damageRow{Roll: d.Roll, Diameter: d.Diameter, Stations: int64(d.Field.Stations), Layers: int64(d.Field.Layers), LayerMM: d.Field.LayerMM, OffMM: d.Field.OffMM,
		ThermalUM: d.Thermal.CrownUM(), ThermalAt: microsOrNull(d.ThermalAt), Damage: make([]byte, 0, 8*len(d.Field.Damage)), Thermal: make([]byte, 0, 8*len(d.Thermal))}
	for _, v := range d.Field.Damage {
		row.Damage = binary.LittleEndian.AppendUint64(row.Damage, math.Float64bits(v))
	}
	for _, v := range d.Thermal {
		row.Thermal = binary.LittleEndian.AppendUint64(row.Thermal, math.Float64bits(v))
	}
	return row, nil
}

// PutDamage writes each row over the one before it.
func (w *writer) PutDamage(damage []port.DamageRow) error {
	const perStatement = 200
	rows := make([]damageRow, 0, len(damage))
	for _, d := range damage {
		row, err := newDamageRow(d)
		if err != nil {
			return err
		}
		rows = append(rows, row)
	}
	// Rows go in by key, so that two writers wait for one another and never in a
	// circle.
	slices.SortFunc(rows, func(a, b damageRow) int {
		if a.Roll < b.Roll {
			return -1
		}
		return 1
	})
	for chunk := range slices.Chunk(rows, perStatement) {
		if err := w.db.Clauses(clause.OnConflict{Columns: []clause.Column{{Name: "roll"}}, UpdateAll: true}).Create(&chunk).Error; err != nil {
			return err
		}
	}
	return nil
}

// stayDamageRow is what a roll took into a stay.
type stayDamageRow struct {
	Mounting int64     `gorm:"column:mounting;primaryKey;autoIncrement:false"`
	Row      damageRow `gorm:"embedded"`
}

func (stayDamageRow) TableName() string { return "stay_damage" }

func (r *reader) StayDamage(number string) (map[int64]port.DamageRow, error) {
	var rows []stayDamageRow
	if err := r.db.Where("roll = ?", number).Order("mounting").Find(&rows).Error; err != nil {
		return nil, err
	}
	kept := map[int64]port.DamageRow{}
	for _, row := range rows {
		d, err := row.Row.damage()
		if err != nil {
			return nil, err
		}
		kept[row.Mounting] = d
	}
	return kept, nil
}

func (w *writer) PutStayDamage(number string, damage map[int64]port.DamageRow) error {
	if err := w.db.Where("roll = ?", number).Delete(&stayDamageRow{}).Error; err != nil {
		return err
	}
	for _, mounting := range keys(damage) {
		row, err := newDamageRow(damage[mounting])
		if err != nil {
			return err
		}
		if err := w.db.Create(&stayDamageRow{Mounting: mounting, Row: row}).Error; err != nil {
			return err
		}
	}
	return nil
}
