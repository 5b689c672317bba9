package finish

import (
	"math"

	"barrelbook/domain/contact"
	"barrelbook/domain/mill"
)

// likewise is this run with another set in place of one of its own, made from
// its sums where every new roll has an old one of the same role, barrel and way
// of wearing: wear then goes with the rate, speed with 1/D, and pressure with
// the root of E*/R at the same line load. ok is false where there is none.
func (r *run) likewise(work, backup *Set) (other *run, ok bool) {
	if len(work.Rolls) != len(r.work.Rolls) || len(backup.Rolls) != len(r.backup.Rolls) || r.misfit != nil {
		return nil, false
	}
	other = emptyRun(r.in, work, backup)
	for j, roll := range other.rolls {
		old := r.rolls[j]
		if !sameWear(roll, old) {
			return nil, false
		}
		other.wear[j] = r.wear[j]
		if rate := old.Rate.UmPerKmAt10; rate != roll.Rate.UmPerKmAt10 {
			if rate == 0 {
				return nil, false
			}
			other.wear[j].scale *= roll.Rate.UmPerKmAt10 / rate
		}
	}
	pressure, err := pressureRatio(other, r)
	if err != nil {
		return nil, false
	}
	for j, roll := range other.rolls {
		other.tired[j] = damageLikewise(r.tired[j], r.rolls[j], roll, pressure, 2*r.risk.halfM)
	}
	other.margin, other.predicted, other.predictedKN = r.marginLikewise(other), r.predicted, r.predictedKN
	other.through, other.grooveT = r.through, r.grooveT
	other.tonnes, other.km, other.force, other.forceless, other.speedless = r.tonnes, r.km, r.force, r.forceless, r.speedless
	smallOld, largeOld := r.diameters()
	small, large := other.diameters()
	for i := range r.pressure {
		other.pressure[i] = r.pressure[i] * pressure
		other.fastest[i], other.slowest[i] = r.fastest[i]*smallOld/small, r.slowest[i]*largeOld/large
	}
	return other, true
}

// sameWear is true where two rolls take the same wear from a piece but for the
// rate. Grooved rolls turn at the bottom of their grooves and are run anew.
func sameWear(a, b *Roll) bool {
	return len(a.GrooveDepthMM) == 0 && len(b.GrooveDepthMM) == 0 && a.BarrelLengthMM == b.BarrelLengthMM && a.exponent() == b.exponent() && a.Rate.Shape == b.Rate.Shape && a.Position.Role() == b.Position.Role()
}

// diameters are the smallest and the largest of the work rolls, 1 where there
// are none.
func (r *run) diameters() (small, large float64) {
	if len(r.work.Rolls) == 0 {
		return 1, 1
	}
	small, large = math.Inf(1), 0
	for _, roll := range r.work.Rolls {
		small, large = min(small, roll.DiameterMM), max(large, roll.DiameterMM)
	}
	return small, large
}

// pressureRatio is peak pressure in a over that in b at one line load.
func pressureRatio(a, b *run) (float64, error) {
	var at [2]float64
	for i, r := range []*run{a, b} {
		for j, work := range r.work.Rolls {
			if j >= len(r.backup.Rolls) {
				return 1, nil
			}
			law, err := contact.NewLaw(body(work), body(r.backup.Rolls[j]), contact.Foeppl)
			if err != nil {
				return 0, err
			}
			at[i] = max(at[i], law.PeakPressure(1000))
		}
	}
	if at[1] == 0 {
		return 1, nil
	}
	return at[0] / at[1], nil
}

func body(r Roll) contact.Body {
	return contact.Body{DiameterMM: r.DiameterMM, ElasticModulusMPa: r.ElasticModulusMPa, PoissonRatio: r.PoissonRatio}
}

// with is the run of a candidate set in place of that of its role.
func (r *run) with(c *Set) (*run, error) {
	work, backup := c, r.backup
	if c.Role == mill.Backup {
		work, backup = r.work, c
	}
	if other, ok := r.likewise(work, backup); ok {
		return other, nil
	}
	return newRun(r.in, work, backup)
}
