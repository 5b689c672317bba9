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
	// NoiseUM is how far the measured wear of a campaign is off; ScatterCV, relative,
	// how far its true wear is, which is in NoiseUM as well.
	NoiseUM, ScatterCV float64
	Source             Source
}

// Predict gives the wear of the next campaign:
//
//	k x ± 1.6449 √(σ² + x² var k)
//
// with the rate of the roll at that stand, or of a roll drawn from the cell, the
// grade or the defaults, whichever is the nearest with campaigns. Length and
// force are finite and at least 0.
func (r Rates) Predict(n Next) (Prediction, error) {
	var c refusal.Check
	c.Within("rolled_km", n.RolledKM, 0, greatestKM)
	c.Within("specific_force_kn_per_mm", n.SpecificForceKNPerMM, 0, greatestForce)
	if err := c.Err(); err != nil {
		return Prediction{}, err
	}
	p := r.rate(n.Roll, n.Cell)
	x := r.Defaults.exposure(n.RolledKM, n.SpecificForceKNPerMM)
	half := 1.6449 * math.Hypot(p.NoiseUM, x*p.RateSD)
	p.WearUM = p.RateUMPerKM * x
	p.Low90UM, p.High90UM = p.WearUM-half, p.WearUM+half
	return p, nil
}

// rate finds the nearest rate.
func (r Rates) rate(roll string, at Cell) Prediction {
	grade, found := r.grade(at.Grade)
	if !found {
		d := r.Defaults
		return predicted(d.RateUMPerKM, d.RateUMPerKM*math.Hypot(d.RateCV, d.StandCV), d.RateUMPerKM*d.RollCV, d.NoiseUM, priorScatterCV, FromDefaults)
	}
	i, found := slices.BinarySearchFunc(r.Cells, at, func(c CellRate, at Cell) int { return c.compare(at) })
	if !found {
		mean := grade.RateUMPerKM
		return predicted(mean, math.Hypot(grade.RateSD, mean*grade.StandCV), mean*grade.RollCV, grade.NoiseUM, grade.ScatterCV, FromGrade)
	}
	cell := r.Cells[i]
	j, found := slices.BinarySearchFunc(r.Rolls, RollRate{Roll: roll, Cell: at}, RollRate.compare)
	if !found {
		return predicted(cell.RateUMPerKM, cell.RateSD, cell.BetweenRollSD, cell.NoiseUM, grade.ScatterCV, FromCell)
	}
	own := r.Rolls[j]
	shared := cell.leanedOn(own.RateSD)
	return predicted(own.RateUMPerKM, shared, math.Sqrt(max(0, own.RateSD*own.RateSD-shared*shared)), cell.NoiseUM, grade.ScatterCV, FromRoll)
}

func predicted(rate, shared, own, noise, scatter float64, from Source) Prediction {
	return Prediction{RateUMPerKM: rate, RateSD: math.Hypot(shared, own), SharedSD: shared, OwnSD: own, NoiseUM: noise, ScatterCV: scatter, Source: from}
}

// leanedOn is the part of a roll's standard deviation s that comes from its
// cell's mean m. The roll leans on the mean by the share l = V/τ², V being its
// variance were the mean known (see fit), so that
//
//	s² = l·τ² + l²·m²,  and the part is l·m
func (c CellRate) leanedOn(s float64) float64 {
	m, between := c.RateSD, c.BetweenRollSD*c.BetweenRollSD
	if m == 0 || s == 0 {
		return 0
	}
	// The root without cancellation: m may be far below τ.
	lean := 2 * s * s / (between + math.Sqrt(between*between+4*m*m*s*s))
	return min(lean*m, s)
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
