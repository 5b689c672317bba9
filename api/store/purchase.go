package store

import (
	"encoding/json"
	"fmt"
	"time"

	"barrelbook/api/app/port"
	"barrelbook/domain/mill"
	"barrelbook/domain/next"
	"barrelbook/domain/purchase"
	"barrelbook/domain/quantity"
)

// orderRow is an order. Doc is the truth of the row; the columns before it repeat
// what lists filter and sort by.
type orderRow struct {
	Name    string `gorm:"column:name;primaryKey"`
	Mill    string `gorm:"column:mill"`
	DueAt   int64  `gorm:"column:due_at"`
	ToCome  int64  `gorm:"column:to_come"`
	Doc     string `gorm:"column:doc"`
	Version int64  `gorm:"column:version"`
}

func (orderRow) TableName() string { return "orders" }

type (
	orderDoc struct {
		Name          string              `json:"name"`
		Mill          string              `json:"mill"`
		Role          mill.Role           `json:"role"`
		Stands        []string            `json:"stands,omitempty"`
		Grade         string              `json:"grade,omitempty"`
		Supplier      string              `json:"supplier,omitempty"`
		Rolls         int                 `json:"rolls"`
		NewDiameter   quantity.Micrometre `json:"new_diameter_um,omitempty"`
		ScrapDiameter quantity.Micrometre `json:"scrap_diameter_um,omitempty"`
		MassKG        float64             `json:"mass_kg,omitempty"`
		Price         int64               `json:"price_minor,omitempty"`
		OrderedAt     time.Time           `json:"ordered_at"`
		DueAt         time.Time           `json:"due_at"`
		Warranty      warrantyDoc         `json:"warranty,omitzero"`
		Arrived       []string            `json:"arrived,omitempty"`
		ClosedAt      time.Time           `json:"closed_at,omitzero"`
		ClosedWhy     string              `json:"closed_why,omitempty"`
		By            string              `json:"by"`
		Note          string              `json:"note,omitempty"`
	}
	warrantyDoc struct {
		TonnageT float64 `json:"tonnage_t,omitempty"`
		RolledKM float64 `json:"rolled_km,omitempty"`
		Months   float64 `json:"months,omitempty"`
	}
)

func newOrderRow(o port.OrderRow) (orderRow, error) {
	d := orderDoc{Name: o.Name, Mill: o.Mill, Role: o.Role, Stands: o.Stands, Grade: o.Grade, Supplier: o.Supplier, Rolls: o.Rolls, NewDiameter: o.NewDiameter, ScrapDiameter: o.ScrapDiameter,
		MassKG: o.MassKG, Price: o.Price, OrderedAt: stored(o.OrderedAt), DueAt: stored(o.DueAt), Warranty: warrantyDoc(o.Warranty), Arrived: o.Arrived, ClosedWhy: o.ClosedWhy, By: o.By, Note: o.Note}
	if !o.ClosedAt.IsZero() {
		d.ClosedAt = stored(o.ClosedAt)
	}
	doc, err := json.Marshal(d)
	if err != nil {
		return orderRow{}, fmt.Errorf("order %s: %w", o.Name, err)
	}
	return orderRow{Name: o.Name, Mill: o.Mill, DueAt: micros(o.DueAt), ToCome: int64(o.ToCome()), Doc: string(doc), Version: o.Version}, nil
}

func (row orderRow) order() (port.OrderRow, error) {
	var d orderDoc
	if err := json.Unmarshal([]byte(row.Doc), &d); err != nil {
		return port.OrderRow{}, fmt.Errorf("reading order %s: %w", row.Name, err)
	}
	return port.OrderRow{Version: row.Version, Order: purchase.Order{Name: d.Name, Mill: d.Mill, Role: d.Role, Stands: d.Stands, Grade: d.Grade, Supplier: d.Supplier, Rolls: d.Rolls,
		NewDiameter: d.NewDiameter, ScrapDiameter: d.ScrapDiameter, MassKG: d.MassKG, Price: d.Price, OrderedAt: d.OrderedAt, DueAt: d.DueAt, Warranty: purchase.Warranty(d.Warranty),
		Arrived: d.Arrived, ClosedAt: d.ClosedAt, ClosedWhy: d.ClosedWhy, By: d.By, Note: d.Note}}, nil
}

func (r *reader) Order(name string) (port.OrderRow, error) {
	var row orderRow
	if err := r.db.Where("name = ?", name).Take(&row).Error; err != nil {
		return port.OrderRow{}, missing(err, "order", name, next.ListOrders())
	}
	return row.order()
}

func (r *reader) Orders(f port.OrderFilter, p port.Page) ([]port.OrderRow, string, error) {
	q := r.db
	if f.Mill != "" {
		q = q.Where("mill = ?", f.Mill)
	}
	if f.Open {
		q = q.Where("to_come > 0")
	}
	return list(q, order{list: "orders", columns: []string{"due_at", "name"}, numbers: "nt"}, p,
		func(row orderRow) []any { return []any{row.DueAt, row.Name} }, orderRow.order)
}

func (w *writer) CreateOrder(o port.OrderRow) error {
	o.Version = 1
	row, err := newOrderRow(o)
	if err != nil {
		return err
	}
	return w.tellOrder(w.create(&row, taken("order", o.Name, next.ListOrders())), port.EventOrderPlaced, o)
}

func (w *writer) tellOrder(err error, kind port.EventKind, o port.OrderRow) error {
	return w.tell(err, kind, named("orders", o.Name), o.Mill, port.EventData{Name: o.Name, Version: o.Version})
}

func (w *writer) ReplaceOrder(o port.OrderRow) error {
	was := o.Version
	o.Version++
	row, err := newOrderRow(o)
	if err != nil {
		return err
	}
	done := w.db.Model(&orderRow{}).Where("name = ? AND version = ?", o.Name, was).Select("*").Omit("name").Updates(row)
	if done.Error != nil || done.RowsAffected == 1 {
		return w.tellOrder(done.Error, port.EventOrderChanged, o)
	}
	now, err := w.Order(o.Name)
	if err != nil {
		return err
	}
	return stale("order", o.Name, was, now.Version, next.ListOrders())
}
