// Package plan answers what is ahead: the finish check, the plan of changes, the
// forecast of a roll, the load in a stand, the stock to grind.
package plan

import (
	"barrelbook/api/app/gather"
	"barrelbook/api/app/learn"
	"barrelbook/api/app/port"
)

// Planner answers what is ahead of sets and rolls: it writes nothing but what it
// forecast.
type Planner struct {
	store   port.Store
	clock   port.Clock
	models  *gather.Models
	learner *learn.Learner
}

// NewPlanner wires the room.
func NewPlanner(store port.Store, clock port.Clock, models *gather.Models, learner *learn.Learner) *Planner {
	return &Planner{store: store, clock: clock, models: models, learner: learner}
}
