// Package app is the one way in: the edge calls it, and it alone calls the store.
// The use cases are in its rooms, one file per noun in each.
package app

import (
	"barrelbook/api/app/gather"
	"barrelbook/api/app/learn"
	"barrelbook/api/app/plan"
	"barrelbook/api/app/port"
	"barrelbook/api/app/record"
	"barrelbook/api/app/report"
	"barrelbook/api/app/tell"
)

// App is the service behind the edge: the rooms together.
type App struct {
	*record.Recorder
	*plan.Planner
	*learn.Learner
	*report.Reporter
	*tell.Teller

	store   port.Store
	clock   port.Clock
	version string
}

// New wires the use cases.
func New(store port.Store, clock port.Clock, ids port.IDs, version string) *App {
	models := &gather.Models{}
	learner := learn.NewLearner(store, clock)
	planner := plan.NewPlanner(store, clock, models, learner)
	return &App{
		Recorder: record.NewRecorder(store, clock, ids, models, planner), Planner: planner, Learner: learner, Reporter: report.NewReporter(store, clock, learner),
		Teller: tell.NewTeller(store, clock),
		store:  store, clock: clock, version: version,
	}
}
