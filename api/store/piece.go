package store

import (
	"encoding/json"
	"fmt"
	"time"

	"barrelbook/api/app/port"
	"barrelbook/domain/mill"
)

type pieceRow struct {
	Source   string `gorm:"column:source;primaryKey"`
	ID       string `gorm:"column:id;primaryKey"`
	Mill     string `gorm:"column:mill"`
	RolledAt int64  `gorm:"column:rolled_at"`
	Doc      string `gorm:"column:doc"` // all that is not in the other columns
}

func (pieceRow) TableName() string { return "pieces" }

type pieceDoc struct {
	Source           string    `json:"source,omitempty"`
	ID               string    `json:"id,omitempty"`
	Mill             string    `json:"mill,omitempty"`
	RolledAt         time.Time `json:"rolled_at,omitzero"`
	Material         string    `json:"material,omitempty"`
	Block            string    `json:"block,omitempty"`
	Demand           string    `json:"demand,omitempty"`
	MassT            float64   `json:"mass_t"`
	WidthMM          float64   `json:"width_mm"`
	EntryThicknessMM float64   `json:"entry_thickness_mm"`
	Passes           []passDoc `json:"passes"`
}

type passDoc struct {
	Stand            string  `json:"stand"`
	EntryThicknessMM float64 `json:"entry_thickness_mm,omitempty"`
	ExitThicknessMM  float64 `json:"exit_thickness_mm,omitempty"`
	WidthMM          float64 `json:"width_mm,omitempty"`
	ForceKN          float64 `json:"force_kn,omitempty"`
	SpeedMPerS       float64 `json:"speed_m_per_s,omitempty"`
	TimeS            float64 `json:"time_s,omitempty"`
	TemperatureC     float64 `json:"temperature_c,omitempty"`
	LateralOffsetMM  float64 `json:"lateral_offset_mm,omitempty"`
	BendingForceKN   float64 `json:"bending_force_kn,omitempty"`

	WorkRollShiftMM            float64 `json:"work_roll_shift_mm,omitempty"`
	IntermediateRollShiftMM    float64 `json:"intermediate_roll_shift_mm,omitempty"`
	IntermediateBendingForceKN float64 `json:"intermediate_bending_force_kn,omitempty"`
	PairCrossDeg               float64 `json:"pair_cross_deg,omitempty"`

	Groove  int  `json:"groove,omitempty"`
	Reverse bool `json:"reverse,omitempty"`
}

func newPieceDoc(p mill.Piece) pieceDoc {
	d := pieceDoc{Source: p.Source, ID: p.ID, Mill: p.Mill, RolledAt: stored(p.RolledAt), Material: p.Material, Block: p.Block, Demand: string(p.Demand), MassT: p.MassT, WidthMM: p.WidthMM, EntryThicknessMM: p.EntryThicknessMM, Passes: make([]passDoc, len(p.Passes))}
	for i, pass := range p.Passes {
		d.Passes[i] = passDoc(pass)
	}
	return d
}

func (d pieceDoc) piece() mill.Piece {
	p := mill.Piece{Source: d.Source, ID: d.ID, Mill: d.Mill, RolledAt: d.RolledAt, Material: d.Material, Block: d.Block, Demand: mill.Demand(d.Demand),
		MassT: d.MassT, WidthMM: d.WidthMM, EntryThicknessMM: d.EntryThicknessMM, Passes: make([]mill.Pass, len(d.Passes))}
	for i, pass := range d.Passes {
		p.Passes[i] = mill.Pass(pass)
	}
	return p
}

func newPieceRow(p mill.Piece) (pieceRow, error) {
	d := newPieceDoc(p)
	d.Source, d.ID, d.Mill, d.RolledAt = "", "", "", time.Time{}
	text, err := json.Marshal(d)
	if err != nil {
		return pieceRow{}, fmt.Errorf("piece %s of %s: %w", p.ID, p.Source, err)
	}
	return pieceRow{Source: p.Source, ID: p.ID, Mill: p.Mill, RolledAt: micros(p.RolledAt), Doc: string(text)}, nil
}

func (row pieceRow) piece() (mill.Piece, error) {
	var d pieceDoc
	if err := json.Unmarshal([]byte(row.Doc), &d); err != nil {
		return mill.Piece{}, fmt.Errorf("reading piece %s of %s: %w", row.ID, row.Source, err)
	}
	d.Source, d.ID, d.Mill, d.RolledAt = row.Source, row.ID, row.Mill, moment(row.RolledAt)
	return d.piece(), nil
}

func (r *reader) Pieces(millName string, p port.Page) ([]mill.Piece, string, error) {
	q := r.db
	if millName != "" {
		q = q.Where("mill = ?", millName)
	}
	newest := order{list: "pieces", columns: []string{"rolled_at", "source", "id"}, numbers: "ntt", newest: p.Sort != port.OldestFirst}
	return list(q, newest, p, func(row pieceRow) []any { return []any{row.RolledAt, row.Source, row.ID} }, pieceRow.piece)
}

func (r *reader) PiecesBetween(millName string, from, until time.Time, p port.Page) ([]mill.Piece, string, error) {
	q := r.db.Where("mill = ? AND rolled_at >= ?", millName, micros(from))
	if !until.IsZero() {
		q = q.Where("rolled_at < ?", micros(until))
	}
	oldest := order{list: "pieces between", columns: []string{"rolled_at", "source", "id"}, numbers: "ntt"}
	return list(q, oldest, p, func(row pieceRow) []any { return []any{row.RolledAt, row.Source, row.ID} }, pieceRow.piece)
}
