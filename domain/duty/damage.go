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
	widest := 0.0
	s.contactsOf(i, func(h *half, c int) {
		// p₀ goes with the root of the line load and b with p₀.
		law := &h.laws[c]
		per := law.PeakPressure(1)
		widest = max(widest, law.HalfWidth(pressureMPa*pressureMPa/(per*per)))
	})
	field, err := fatigue.NewField(wear.DefaultStations, fatigue.DefaultLayers, fatigue.LayerFor(widest))
	if err != nil {
		return nil // a contact of no roll: nothing to follow
	}
	return field
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

// addTurns notes the turns of a pass on the rolls of a half: an intermediate roll is
// pressed twice in a turn.
func (s *Stand) addTurns(k int, turns func(roll int) float64) {
	kernel := s.mech.m.Kernel
	if kernel == nil {
		return
	}
	h := &s.halves[k]
	for c := range h.laws {
		mean, pend := h.means[c], &h.lines[c].pend
		if mean <= 0 {
			continue
		}
		if pend.meanLoad == 0 {
			pend.meanLoad = mean
		}
		weight := math.Pow(mean/pend.meanLoad, kernel.Policy().Exponent/2)
		for _, i := range h.rolls[c : c+2] {
			if s.mech.rolls[i].Damage != nil {
				pend.turns[i] += weight * turns(i)
			}
		}
	}
}

// settle lays what is pending on an answer of a half into the damage of its
// rolls.
func (s *Stand) settle(h *half, a *answer) {
	for c := range h.laws {
		l := &a.lines[c]
		if l.shape == nil {
			continue
		}
		for i, turns := range l.pend.turns {
			field := s.mech.rolls[i].Damage
			line := s.grids[i].New()
			s.spread(a, c, i, l.pend.meanLoad, line)
			pressure, half := make([]float64, len(line)), line
			for j, q := range line {
				pressure[j], half[j] = h.laws[c].PeakPressure(q), h.laws[c].HalfWidth(q)
			}
			if field.Add(s.mech.m.Kernel, turns, pressure, half) != nil {
				// A field made for much thinner contacts: its layers stay as they are.
				continue
			}
		}
		l.pend.reset()
	}
}

// Settle lays all fatigue that is waiting into the damage of the rolls. Call it
// before the damage is read.
func (s *Stand) Settle() {
	if s.mech == nil {
		return
	}
	for k := range s.halves {
		h := &s.halves[k]
		s.settle(h, &h.answer)
		for i := range h.kept {
			s.settle(h, &h.kept[i])
		}
	}
}
