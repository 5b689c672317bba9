package duty

import (
	"math"

	"barrelbook/domain/fatigue"
	"barrelbook/domain/wear"
)

// NewDamage is an empty damage field for roll i, with layers that suit its
// contact at the peak pressure given, b = 2R·p₀/E*; nil for a roll that no other
// presses.
func (s *Stand) NewDamage(i int, pressureMPa float64) *fatigue.Field {
	for k := range s.pairs {
		pr := &s.pairs[k]
		if pr.work != i && pr.backup != i {
			continue
		}
		// p₀ goes with the root of the line load and b with p₀.
		per := pr.law.PeakPressure(1)
		half := pr.law.HalfWidth(pressureMPa * pressureMPa / (per * per))
		field, err := fatigue.NewField(wear.DefaultStations, fatigue.DefaultLayers, fatigue.LayerFor(half))
		if err != nil {
			return nil // a contact of no roll: nothing to follow
		}
		return field
	}
	return nil
}

// pending is the fatigue of passes that share a shape of the load, waiting to be
// laid at once: at one shape the pressure goes with the root of the force, so
// turns at another force count as (F/F_ref)^(m/2) turns at this one. That their
// contact is that much wider is left out, within the closeness of the force.
type pending struct {
	meanLoad float64
	turns    map[int]float64 // per roll
}

func (p *pending) reset() { p.meanLoad, p.turns = 0, map[int]float64{} }

// tire notes the turns of a pass on the two rolls of a pair.
func (s *Stand) tire(k int, mean float64, turns func(roll int) float64) {
	kernel := s.mech.m.Kernel
	if kernel == nil || mean <= 0 {
		return
	}
	pr := &s.pairs[k]
	if pr.pend.meanLoad == 0 {
		pr.pend.meanLoad = mean
	}
	weight := math.Pow(mean/pr.pend.meanLoad, kernel.Policy().Exponent/2)
	for _, i := range []int{pr.work, pr.backup} {
		if s.mech.rolls[i].Damage != nil {
			pr.pend.turns[i] += weight * turns(i)
		}
	}
}

// settle lays what is pending on an answer of a pair into the damage of its
// rolls.
func (s *Stand) settle(pr *pair, a *answer) {
	if a.shape == nil {
		return
	}
	for i, turns := range a.pend.turns {
		field := s.mech.rolls[i].Damage
		line := s.grids[i].New()
		s.spread(pr, a, i, a.pend.meanLoad, line)
		pressure, half := make([]float64, len(line)), line
		for j, q := range line {
			pressure[j], half[j] = pr.law.PeakPressure(q), pr.law.HalfWidth(q)
		}
		if field.Add(s.mech.m.Kernel, turns, pressure, half) != nil {
			// A field made for much thinner contacts: its layers stay as they are.
			continue
		}
	}
	a.pend.reset()
}

// Settle lays all fatigue that is waiting into the damage of the rolls. Call it
// before the damage is read.
func (s *Stand) Settle() {
	if s.mech == nil {
		return
	}
	for k := range s.pairs {
		pr := &s.pairs[k]
		s.settle(pr, &pr.answer)
		for i := range pr.kept {
			s.settle(pr, &pr.kept[i])
		}
	}
}
