package wearrate

import (
	"cmp"
	"math"
	"slices"

	"barrelbook/domain/refusal"
)

// Next is a campaign to come.
type Next struct {
	Roll string // empty for a new roll of the cell
	Cell
	RolledKM             float64
	SpecificForceKNPerMM float64
	DiameterMM           float64 // of the roll; 0 for as it was learned
}

// Prediction of what its regrind will measure. The interval holds nine in ten
// of the campaigns without an incident; it is of the measured wear, so that it
// may reach below 0 for a short campaign.
type Prediction struct {
	WearUM, Low90UM, High90UM float64
	RateUMPerKM, RateSD       float64 // of the roll, or of a roll drawn from what it falls back on
	// SharedSD is the part of RateSD that the rolls of a cell have in common, the
	// doubt of what they lean on; OwnSD is the rest: RateSD² is the sum of their squares.
	SharedSD, OwnSD float64
	// NoiseUM is how far two measurements are off. ScatterCV, relative, is how far the
	// true wear of a campaign is off rate × exposure, and SharedCV the part of it that
	// the rolls of a set have in common.
	NoiseUM, ScatterCV, SharedCV float64
	Source                       Source
	// Effect is what the campaign's length and force are taken to make of the rate; it
	// is in RateUMPerKM where both are given.
	Effect CampaignEffect
}

// sure90 is how many standard deviations hold nine in ten.
const sure90 = 1.6449

// Predict gives the wear of the next campaign:
//
//	k x ± 1.6449 f √(σ² + x²(var k + k² scatter²))
//
// with f the factor of Spread and
// k the rate of the roll at that stand, or of a roll drawn from the cell, the
// grade or the defaults, whichever is the nearest with campaigns; a roll known from
// other stands takes along what it does in all of them. Length and force, where
// they are above 0, bear on the rate as far as the grade showed it. Both are finite
// and at least 0.
func (r Rates) Predict(n Next) (Prediction, error) {
	var c refusal.Check
	c.Within("rolled_km", n.RolledKM, 0, greatestKM)
	c.Within("specific_force_kn_per_mm", n.SpecificForceKNPerMM, 0, greatestForce)
	c.Within("diameter_mm", n.DiameterMM, 0, greatestMM)
	if err := c.Err(); err != nil {
		return Prediction{}, err
	}
	p, mm := r.rate(n.Roll, n.Cell)
	if g, found := r.grade(n.Grade); found {
		p.Effect = g.Effect()
		p.times(p.Effect.Factor(n.RolledKM, n.RolledKM*n.SpecificForceKNPerMM/10) * g.drift(mm, n.DiameterMM))
	}
	p.wider(r.Spread.Factor())
	x := r.Defaults.exposure(n.RolledKM, n.SpecificForceKNPerMM)
	half := sure90 * math.Hypot(p.NoiseUM, x*math.Hypot(p.RateSD, p.RateUMPerKM*p.ScatterCV))
	p.WearUM = p.RateUMPerKM * x
	p.Low90UM, p.High90UM = p.WearUM-half, p.WearUM+half
	return p, nil
}

// CampaignEffect is what the length and the force of a campaign make of the rate,
// which is that of a usual one. The zero value makes nothing of them.
type CampaignEffect struct {
	Force, ForceAt float64 // exponent beyond the one in the exposure, and the logarithm of the usual specific force in kN/mm
	Fresh, FreshAt float64 // logarithm of the rate while freshly ground, and the usual freshness
}

// Effect is that of a grade, within what may be: an exponent of force of 0 to 1.3
// where the exposure has 1 (0.6 to 1.2 in the literature; 0 is the spreadsheet's rule
// of so much a kilometre), and a rate up to twice as high or half as low while fresh.
func (g GradeRate) Effect() CampaignEffect {
	return CampaignEffect{Force: min(max(g.ForceMore, -1), 0.3), ForceAt: g.Force, Fresh: min(max(g.FreshMore, -0.7), 0.7), FreshAt: g.Freshness}
}

// Factor on the rate for a whole campaign, from its grind on, of a length and an
// exposure in km; 1 where either is not above 0.
func (e CampaignEffect) Factor(km, exposureKM float64) float64 {
	if !(km > 0 && exposureKM > 0) {
		return 1
	}
	return math.Exp(e.Fresh*(freshness(km)-e.FreshAt) + e.Force*min(max(math.Log(10*exposureKM/km)-e.ForceAt, -1), 1))
}

// wider takes every spread times a factor.
func (p *Prediction) wider(f float64) {
	for _, v := range []*float64{&p.RateSD, &p.SharedSD, &p.OwnSD, &p.NoiseUM, &p.ScatterCV, &p.SharedCV} {
		*v *= f
	}
}

// drift is what the rate is by at another diameter than the one it was learned at.
func (g GradeRate) drift(from, to float64) float64 {
	if from == 0 || to == 0 {
		return 1
	}
	return math.Exp(g.PerTenMM * min(max((from-to)/10, -5), 5))
}

func (p *Prediction) times(f float64) {
	p.RateUMPerKM *= f
	p.RateSD *= f
	p.SharedSD *= f
	p.OwnSD *= f
}

// rate finds the nearest rate, and the diameter that it is at.
func (r Rates) rate(roll string, at Cell) (p Prediction, mm float64) {
	grade, found := r.grade(at.Grade)
	if !found {
		d := r.Defaults
		c := d.components()
		return Prediction{NoiseUM: d.NoiseUM, ScatterCV: math.Hypot(c.CampaignSD, c.OwnSD), SharedCV: c.CampaignSD, Source: FromDefaults}.
			of(d.RateUMPerKM, d.RateUMPerKM*math.Hypot(d.RateCV, d.StandCV), d.RateUMPerKM*d.RollCV), 0
	}
	p = Prediction{NoiseUM: grade.NoiseUM, ScatterCV: grade.ScatterCV, SharedCV: grade.SharedCV}
	if j, found := slices.BinarySearchFunc(r.Rolls, RollRate{Roll: roll, Cell: at}, RollRate.compare); found {
		own := r.Rolls[j]
		p.Source = FromRoll
		return p.of(own.RateUMPerKM, own.SharedSD, math.Sqrt(max(0, own.RateSD*own.RateSD-own.SharedSD*own.SharedSD))), own.DiameterMM
	}
	// Elsewhere a roll is what it was in other stands, a new one drawn from all.
	log, sd := 0.0, grade.RollCV
	if j, found := slices.BinarySearchFunc(r.Effects, roll, func(e RollEffect, roll string) int { return cmp.Compare(e.Roll, roll) }); found && roll != "" {
		log, sd = r.Effects[j].Log, r.Effects[j].SD
	}
	times := math.Exp(log)
	if i, found := slices.BinarySearchFunc(r.Cells, at, func(c CellRate, at Cell) int { return c.compare(at) }); found {
		p.Source = FromCell
		c := r.Cells[i]
		return p.of(times*c.RateUMPerKM, times*c.RateSD, times*c.RateUMPerKM*sd), c.DiameterMM
	}
	mean := times * grade.RateUMPerKM
	p.Source = FromGrade
	return p.of(mean, math.Hypot(times*grade.RateSD, mean*grade.StandCV), mean*sd), grade.DiameterMM
}

func (p Prediction) of(rate, shared, own float64) Prediction {
	p.RateUMPerKM, p.RateSD, p.SharedSD, p.OwnSD = rate, math.Hypot(shared, own), shared, own
	return p
}

func (r Rates) grade(name string) (GradeRate, bool) {
	i, found := slices.BinarySearchFunc(r.Grades, name, func(g GradeRate, name string) int { return cmp.Compare(g.Grade, name) })
	if !found {
		return GradeRate{}, false
	}
	return r.Grades[i], true
}

// compare orders rolls by cell and then by name.
func (a RollRate) compare(b RollRate) int {
	return cmp.Or(a.Cell.compare(b.Cell), cmp.Compare(a.Roll, b.Roll))
}
