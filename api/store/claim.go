package store

import (
	"encoding/json"
	"fmt"
	"time"

	"barrelbook/api/app/port"
	"barrelbook/domain/next"
	"barrelbook/domain/purchase"
)

// claimRow is a claim. Doc is the truth of the row; the columns before it repeat
// what lists filter and sort by.
type claimRow struct {
	Name    string `gorm:"column:name;primaryKey"`
	Roll    string `gorm:"column:roll"`
	MadeAt  int64  `gorm:"column:made_at"`
	Settled int64  `gorm:"column:settled"`
	Doc     string `gorm:"column:doc"`
	Version int64  `gorm:"column:version"`
}

func (claimRow) TableName() string { return "claims" }

type claimDoc struct {
	Name      string    `json:"name"`
	Roll      string    `json:"roll"`
	Supplier  string    `json:"supplier,omitempty"`
	What      string    `json:"what"`
	MadeAt    time.Time `json:"made_at"`
	Claimed   int64     `json:"claimed_minor,omitempty"`
	SettledAt time.Time `json:"settled_at,omitzero"`
	Credited  int64     `json:"credited_minor,omitempty"`
	By        string    `json:"by"`
	Note      string    `json:"note,omitempty"`
}

func newClaimRow(c port.ClaimRow) (claimRow, error) {
	d := claimDoc(c.Claim)
	d.MadeAt = stored(d.MadeAt)
	row := claimRow{Name: c.Name, Roll: c.Roll, MadeAt: micros(c.MadeAt), Version: c.Version}
	if !c.SettledAt.IsZero() {
		d.SettledAt, row.Settled = stored(c.SettledAt), 1
	}
	doc, err := json.Marshal(d)
	if err != nil {
		return claimRow{}, fmt.Errorf("claim %s: %w", c.Name, err)
	}
	row.Doc = string(doc)
	return row, nil
}

func (row claimRow) claim() (port.ClaimRow, error) {
	var d claimDoc
	if err := json.Unmarshal([]byte(row.Doc), &d); err != nil {
		return port.ClaimRow{}, fmt.Errorf("reading claim %s: %w", row.Name, err)
	}
	return port.ClaimRow{Version: row.Version, Claim: purchase.Claim(d)}, nil
}

func (r *reader) Claim(name string) (port.ClaimRow, error) {
	var row claimRow
	if err := r.db.Where("name = ?", name).Take(&row).Error; err != nil {
		return port.ClaimRow{}, missing(err, "claim", name, next.ListClaims())
	}
	return row.claim()
}

func (r *reader) Claims(f port.ClaimFilter, p port.Page) ([]port.ClaimRow, string, error) {
	q := r.db
	if f.Roll != "" {
		q = q.Where("roll = ?", f.Roll)
	}
	if f.Open {
		q = q.Where("settled = 0")
	}
	return list(q, order{list: "claims", columns: []string{"made_at", "name"}, numbers: "nt", newest: true}, p,
		func(row claimRow) []any { return []any{row.MadeAt, row.Name} }, claimRow.claim)
}

func (w *writer) CreateClaim(c port.ClaimRow) error {
	c.Version = 1
	row, err := newClaimRow(c)
	if err != nil {
		return err
	}
	return w.create(&row, taken("claim", c.Name, next.ListClaims()))
}

func (w *writer) ReplaceClaim(c port.ClaimRow) error {
	was := c.Version
	c.Version++
	row, err := newClaimRow(c)
	if err != nil {
		return err
	}
	done := w.db.Model(&claimRow{}).Where("name = ? AND version = ?", c.Name, was).Select("*").Omit("name").Updates(row)
	if done.Error != nil || done.RowsAffected == 1 {
		return done.Error
	}
	now, err := w.Claim(c.Name)
	if err != nil {
		return err
	}
	return stale("claim", c.Name, was, now.Version, next.ListClaims())
}
