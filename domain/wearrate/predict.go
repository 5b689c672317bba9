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
	NoiseUM                   float64
	Source                    Source
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
		sd := d.RateUMPerKM * math.Sqrt(d.RateCV*d.RateCV+d.StandCV*d.StandCV+d.RollCV*d.RollCV)
		return Prediction{RateUMPerKM: d.RateUMPerKM, RateSD: sd, NoiseUM: d.NoiseUM, Source: FromDefaults}
	}
	i, found := slices.BinarySearchFunc(r.Cells, at, func(c CellRate, at Cell) int { return c.compare(at) })
	if !found {
		sd := math.Hypot(grade.RateSD, grade.RateUMPerKM*math.Hypot(grade.StandCV, grade.RollCV))
		return Prediction{RateUMPerKM: grade.RateUMPerKM, RateSD: sd, NoiseUM: grade.NoiseUM, Source: FromGrade}
	}
	cell := r.Cells[i]
	j, found := slices.BinarySearchFunc(r.Rolls, RollRate{Roll: roll, Cell: at}, RollRate.compare)
	if !found {
		return Prediction{RateUMPerKM: cell.RateUMPerKM, RateSD: math.Hypot(cell.RateSD, cell.BetweenRollSD),
			NoiseUM: cell.NoiseUM, Source: FromCell}
	}
	return Prediction{RateUMPerKM: r.Rolls[j].RateUMPerKM, RateSD: r.Rolls[j].RateSD, NoiseUM: cell.NoiseUM, Source: FromRoll}
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
