package port

import (
	"barrelbook/domain/purchase"
)

// OrderRow is an order of rolls as it stands.
type OrderRow struct {
	purchase.Order
	Version int64
}

// OrderFilter narrows the orders. Empty fields stand for any.
type OrderFilter struct {
	Mill string
	Open bool // only those of which rolls are to come
}

// ClaimRow is a claim as it stands.
type ClaimRow struct {
	purchase.Claim
	Version int64
}

// ClaimFilter narrows the claims. Empty fields stand for any.
type ClaimFilter struct {
	Roll string
	Open bool // only those that are not settled
}

// PurchaseReader reads what is bought.
type PurchaseReader interface {
	Order(name string) (OrderRow, error)
	// Orders by the day they are due, the next one first.
	Orders(f OrderFilter, p Page) ([]OrderRow, string, error)
	Claim(name string) (ClaimRow, error)
	// Claims newest first.
	Claims(f ClaimFilter, p Page) ([]ClaimRow, string, error)
}

// PurchaseWriter keeps what is bought.
type PurchaseWriter interface {
	CreateOrder(o OrderRow) error
	// ReplaceOrder keeps o as version o.Version+1, else gives Stale.
	ReplaceOrder(o OrderRow) error
	CreateClaim(c ClaimRow) error
	// ReplaceClaim keeps c as version c.Version+1, else gives Stale.
	ReplaceClaim(c ClaimRow) error
}
