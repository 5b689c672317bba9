package finish

import (
	"math"

	"barrelbook/domain/duty"
)

// holdOut notes the least margin of strength of a pass at a given force; a
// predicted one is no ground to bar a programme.
func (r *run) holdOut(i int, load duty.Load) {
	if load.Predicted {
		return
	}
	for _, s := range load.Strengths {
		if r.margin[i].roll == nil || s.Margin < r.margin[i].share {
			r.margin[i] = held{roll: r.rolls[s.Roll], share: s.Margin}
		}
	}
}

// held is the least margin of strength of a piece and the roll that has it.
type held struct {
	roll  *Roll
	share float64
}

// strength holds the least margin of the rolls' own strength against the
// practice.
func (r *run) strength() (Margin, bool) {
	limit := r.in.LeastMargin
	if !limit.Set {
		return Margin{}, false
	}
	m := Margin{Criterion: Strength, Unit: "%", Limit: 100 * limit.Number, AtEnd: math.Inf(1), Probability: 1, Hard: true,
		Source: "limit: " + limit.Source + "; use: bending and torsion under the forces of the programme against the stress allowed for the grade"}
	for i, h := range r.margin {
		if h.roll == nil {
			continue
		}
		share := 100 * h.share
		if share < m.AtEnd {
			m.AtEnd, m.Roll = share, h.roll.Number
		}
		if share < m.Limit-1e-9 && m.Reached == nil {
			m.Reached, m.Probability = r.reached(i+1), 0
		}
	}
	m.AtEndLow, m.AtEndHigh, m.ReachedP10 = m.AtEnd, m.AtEnd, m.Reached
	return m, m.Roll != ""
}

// marginLikewise is the least margin of the pieces with other rolls: the stress
// goes with 1/D³ at the barrel and is not taken as less where the neck governs,
// and the stress allowed is that of the new grade.
func (r *run) marginLikewise(other *run) []held {
	list := make([]held, len(r.margin))
	for i, h := range r.margin {
		for j, roll := range r.rolls {
			if h.roll != roll {
				continue
			}
			now := other.rolls[j]
			stress := (1 - h.share) * max(1, math.Pow(roll.DiameterMM/now.DiameterMM, 3))
			if now.Condition.AllowableMPa > 0 {
				stress *= roll.Condition.AllowableMPa / now.Condition.AllowableMPa
			}
			list[i] = held{roll: now, share: 1 - stress}
		}
	}
	return list
}
