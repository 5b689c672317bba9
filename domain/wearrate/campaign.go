package wearrate

import (
	"math"
	"time"
)

// Campaign is a Run with what ties it to other ones. All of it may be left out.
type Campaign struct {
	Run
	// Set names the stay that the rolls of a set shared. What a campaign has of its
	// own, strip, water and lubrication, all rolls of one Set at a stand have.
	Set string
	// EndedAt is when it came out of the stand; campaigns without it come first.
	EndedAt time.Time
	// DiameterMM is that of the grind before. 0 for not known.
	DiameterMM float64
}

// observation is a campaign as the model reads it: wear y of exposure x,
//
//	y = x·exp(η + g + e) + ε,  made linear about η:  z = η + (y − ŷ)/ŷ,  ŷ = x·exp(η)
type observation struct {
	roll, cell int
	set        string
	endedAt    time.Time
	x, y       float64
	// What the rate changes with, from the grade's reference.
	force, diameter, fresh float64
	jump                   int // of the stand at that time, −1 for none

	eta, z    float64
	own       float64 // variance of z by itself
	precision float64 // robust: 0 for an incident
	incident  float64 // chance of one
}

// yhat is the wear expected.
func (o *observation) yhat() float64 { return o.x * math.Exp(o.eta) }

// linear makes the observation linear about eta.
func (o *observation) linear(eta float64, c *Components) {
	o.eta = eta
	yhat := o.yhat()
	o.z = eta + (o.y-yhat)/yhat
	gauge := c.GaugeUM / yhat
	o.own = c.OwnSD*c.OwnSD + gauge*gauge
}

// freshKM is over what length a roll that was just ground is taken to wear
// otherwise than later: common practice, no source. How much is learned.
const freshKM = 8

// freshness is the part of a campaign that is rolled freshly ground: 1 for a
// short one, falling with 1/length.
func freshness(km float64) float64 {
	if km <= 0 {
		return 1
	}
	return freshKM / km * -math.Expm1(-km/freshKM)
}
