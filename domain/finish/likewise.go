package finish

import (
	"math"

	"barrelbook/domain/contact"
	"barrelbook/domain/limit"
	"barrelbook/domain/mill"
)

// likewise is this run with another set in place of one of its own, made from
// its sums where every new roll has an old one of the same role, barrel and way
// of wearing: wear then goes with the rate, speed with 1/D, and pressure with
// the root of E*/R at the same line load. ok is false where there is none.
func (r *run) likewise(work, backup *Set) (other *run, ok bool) {
	if len(work.Rolls) != len(r.work().Rolls) || len(backup.Rolls) != len(r.backup().Rolls) || r.misfit != nil || len(r.stand.Intermediate.Rolls) > 0 {
		return nil, false
	}
	other = emptyRun(r.in, work, backup)
	factors := make([]limit.Factor, len(r.rolls()))
	for j, roll := range other.stand.Rolls() {
		old := r.rolls()[j]
		if !sameWear(roll, old) {
			return nil, false
		}
		factors[j] = limit.Factor{Wear: 1, Turns: old.DiameterMM / roll.DiameterMM}
		if rate := old.Rate.UmPerKmAt10; rate != roll.Rate.UmPerKmAt10 {
			if rate == 0 {
				return nil, false
			}
			factors[j].Wear = roll.Rate.UmPerKmAt10 / rate
		}
	}
	for j := range factors {
		var err error
		if factors[j].Pressure, err = pressureRatio(other, r, j); err != nil {
			return nil, false
		}
	}
	stand := other.stand
	other.ahead = r.ahead.Likewise(stand, factors)
	other.ahead.Margin = r.marginLikewise(other)
	other.predicted, other.forceless, other.speedless = r.predicted, r.forceless, r.speedless
	smallOld, largeOld := limit.Diameters(r.work())
	small, large := limit.Diameters(work)
	other.ahead.Fastest, other.ahead.Slowest = times(r.ahead.Fastest, smallOld/small), times(r.ahead.Slowest, largeOld/large)
	other.watch()
	return other, true
}

func times(list []float64, factor float64) []float64 {
	out := make([]float64, len(list))
	for i, v := range list {
		out[i] = factor * v
	}
	return out
}

// marginLikewise is the least margin of the pieces with other rolls: the stress
// goes with 1/D³ at the barrel and is not taken as less where the neck governs,
// and the stress allowed is that of the new grade.
func (r *run) marginLikewise(other *run) []limit.Held {
	list := make([]limit.Held, len(r.ahead.Margin))
	for i, h := range r.ahead.Margin {
		list[i] = h
		if h.Roll < 0 {
			continue
		}
		was, now := r.rolls()[h.Roll], other.rolls()[h.Roll]
		stress := (1 - h.Share) * max(1, math.Pow(was.DiameterMM/now.DiameterMM, 3))
		if now.Condition.AllowableMPa > 0 {
			stress *= was.Condition.AllowableMPa / now.Condition.AllowableMPa
		}
		list[i].Share = 1 - stress
	}
	return list
}

// sameWear is true where two rolls take the same wear from a piece but for the
// rate. Grooved rolls turn at the bottom of their grooves and are run anew.
func sameWear(a, b *Roll) bool {
	return len(a.GrooveDepthMM) == 0 && len(b.GrooveDepthMM) == 0 && a.BarrelLengthMM == b.BarrelLengthMM && a.WearExponent() == b.WearExponent() && a.Rate.Shape == b.Rate.Shape && a.Position.Role() == b.Position.Role()
}

// pressureRatio is the peak pressure on roll j in a over that in b at one line
// load.
func pressureRatio(a, b *run, j int) (float64, error) {
	var at [2]float64
	for i, r := range []*run{a, b} {
		works, backups := r.work().Rolls, r.backup().Rolls
		pair := j % max(1, len(works))
		if pair >= len(works) || pair >= len(backups) {
			return 1, nil
		}
		law, err := contact.NewLaw(body(&works[pair]), body(&backups[pair]), contact.Foeppl)
		if err != nil {
			return 0, err
		}
		at[i] = law.PeakPressure(1000)
	}
	return at[0] / at[1], nil
}

func body(r *Roll) contact.Body {
	return contact.Body{DiameterMM: r.DiameterMM, ElasticModulusMPa: r.ElasticModulusMPa, PoissonRatio: r.PoissonRatio}
}

// with is the run of a candidate set in place of that of its role.
func (r *run) with(c *Set) (*run, error) {
	if c.Role == mill.Intermediate {
		in := *r.in
		in.Intermediate = *c
		return newRun(&in, r.work(), r.backup())
	}
	work, backup := c, r.backup()
	if c.Role == mill.Backup {
		work, backup = r.work(), c
	}
	if other, ok := r.likewise(work, backup); ok {
		return other, nil
	}
	return newRun(r.in, work, backup)
}
