package duty

import (
	"barrelbook/domain/gap"
	"barrelbook/domain/mill"
	"barrelbook/domain/rollload"
)

// Gap is how the gap between the work rolls has changed under the strip of a
// pass since the rolls were ground, with the load of the pass last taken. ok is
// false where a work roll is missing or grooved, the models are off, or the strip
// does not lie on the rolls. The bending of the axes is 0 where the load is taken
// as even, or Models.Gap is off.
func (s *Stand) Gap(p mill.Pass, edgeMM float64) (g gap.Gap, ok bool) {
	if s.mech == nil {
		return g, false
	}
	g = gap.Gap{WidthMM: p.WidthMM, OffsetMM: p.LateralOffsetMM, EdgeMM: edgeMM, Cross: gap.Cross{AngleDeg: p.PairCrossDeg}}
	found := 0
	for i := range s.rolls {
		r := &s.rolls[i]
		if r.Position.Role() != mill.Work || len(r.GrooveDepthMM) > 0 {
			continue
		}
		found++
		g.Cross.DiameterMM = r.DiameterMM
		into := &g.Top
		if r.Position == mill.BottomWork {
			into = &g.Bottom
		}
		*into = s.facing(i, p)
	}
	return g, found == 2 && g.Check() == nil
}

// facing is work roll i as it faces the strip of a pass.
func (s *Stand) facing(i int, p mill.Pass) gap.Roll {
	c, r := s.mech.rolls[i], &s.rolls[i]
	of := gap.Roll{BarrelMM: r.BarrelLengthMM, OffsetMM: p.RollOffsetMM(r.Position), Ground: s.ground(i),
		WearUM: rollload.Points{XMM: s.gridX[i], Value: c.WornUM}, HeatUM: s.grown(i)}
	for k := range s.halves {
		if h := &s.halves[k]; h.rolls[0] == i {
			of.AxisUM = h.axis
		}
	}
	return of
}
