// Package report tells of all rolls together: stock, buying, consumption, populations.
package report

import (
	"barrelbook/api/app/learn"
	"barrelbook/api/app/port"
)

// Reporter tells what the shop has, used and needs.
type Reporter struct {
	store   port.Store
	clock   port.Clock
	learner *learn.Learner
	scraps  keptScraps
}

// NewReporter wires the room.
func NewReporter(store port.Store, clock port.Clock, learner *learn.Learner) *Reporter {
	return &Reporter{store: store, clock: clock, learner: learner}
}
