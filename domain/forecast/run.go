// Package forecast says what is ahead of one roll of the shop: when it must be
// changed, how many campaigns and tonnes its stock is worth, and when it will be
// scrapped. What the shop usually does (stock per grind, incidents, length of a
// campaign, rhythm) is learned from its own regrinds; the sums are package life's.
package forecast

import (
	"time"

	"barrelbook/domain/mill"
)

// Run is what a roll did between two grinds.
type Run struct {
	Roll  string
	Grade string
	Stand string // empty when it was in none, or in more than one
	Role  mill.Role
	Since time.Time
	At    time.Time // of the grind that ended it
	// WearUM is what rolling took and StockUM what the wheel took, on diameter,
	// as measured: wear may come out below 0.
	WearUM, StockUM float64
	// Normal is false for a grind after a crack or an incident.
	Normal bool
	// First is true for the cycle that began with the receipt and no grind.
	First bool
	// MountedAt is when it first went into a stand, WithdrawnAt when it last came out.
	MountedAt, WithdrawnAt time.Time
	Campaigns              int
	InStand                time.Duration // of all its campaigns
	TonnageT               float64
	RolledKM               float64
	ExposureKM             float64
}

// removed is what the whole cycle took off, from ground to ground.
func (c Run) removed() float64 { return c.WearUM + c.StockUM }

func (c Run) days() float64    { return c.At.Sub(c.Since).Hours() / 24 }
func (c Run) inStand() float64 { return c.InStand.Hours() / 24 }
