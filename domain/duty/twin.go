package duty

import (
	"math"
	"slices"

	"barrelbook/domain/rollload"
)

// twinUM is how far the wear of two rolls may differ along the barrel for them
// to be taken as alike.
const twinUM = 2

// copyTwin gives the bottom half the answer of the top one where it is like it,
// or like it turned end for end, as the halves of a stand with shifted rolls are.
func (s *Stand) copyTwin(now solvedFor) bool {
	top, bottom := &s.halves[0], &s.halves[1]
	asked := top.solved
	asked.thermalUM = now.thermalUM
	if !top.beams || !bottom.beams || asked != now {
		return false
	}
	same := now.shifts == shifts{} && s.twins(false)
	if !same && !(now.offsetMM == 0 && s.twins(true)) {
		return false
	}
	for c := range bottom.laws {
		from, to := &top.lines[c], &bottom.lines[c]
		to.left, to.right, to.peak = from.left, from.right, from.peak
		to.shape = append(to.shape[:0], from.shape...)
		if !same {
			to.left, to.right = -from.right, -from.left
			slices.Reverse(to.shape)
		}
	}
	bottom.axis = rollload.Points{XMM: slices.Clone(top.axis.XMM), Value: slices.Clone(top.axis.Value)}
	if !same {
		slices.Reverse(bottom.axis.XMM)
		slices.Reverse(bottom.axis.Value)
		for i := range bottom.axis.XMM {
			bottom.axis.XMM[i] *= -1
		}
	}
	bottom.solved, bottom.wornUM, bottom.flat = now, top.wornUM, top.flat
	return true
}

// twins says whether the bottom half of the stand is like the top one, or like it
// turned end for end, so that one solution does for both: diameters to 1 %, of
// which the shape of the load feels a tenth, and the same profiles.
func (s *Stand) twins(turned bool) bool {
	like := func(a, b int) bool {
		x, y, cx, cy := &s.rolls[a], &s.rolls[b], s.mech.rolls[a], s.mech.rolls[b]
		ground := s.ground(b)
		if turned {
			ground = ground.Turned()
		}
		return x.BarrelLengthMM == y.BarrelLengthMM && math.Abs(x.DiameterMM/y.DiameterMM-1) < 0.01 && x.ElasticModulusMPa == y.ElasticModulusMPa &&
			sameGround(s.ground(a), ground) && nearWorn(cx.WornUM, cy.WornUM, turned) &&
			cx.BearingSpanMM == cy.BearingSpanMM && cx.NeckDiameterMM == cy.NeckDiameterMM
	}
	warm := s.warmth(&s.halves[1])
	if turned {
		slices.Reverse(warm[:])
	}
	if !nearWarm(s.warmth(&s.halves[0]), warm, twinUM) {
		return false
	}
	for c, i := range s.halves[0].rolls {
		if !like(i, s.halves[1].rolls[c]) {
			return false
		}
	}
	return true
}

func nearWorn(a, b []float64, turned bool) bool {
	if len(a) > len(b) {
		return false
	}
	for i := range a {
		j := i
		if turned {
			j = len(a) - 1 - i
		}
		if math.Abs(a[i]-b[j]) > twinUM {
			return false
		}
	}
	return true
}

// sameGround says whether two rolls left the grinder in one shape.
func sameGround(a, b rollload.Profile) bool {
	return a.CrownUM == b.CrownUM && a.PolynomialUM == b.PolynomialUM && slices.Equal(a.MeasuredUM.XMM, b.MeasuredUM.XMM) && slices.Equal(a.MeasuredUM.Value, b.MeasuredUM.Value)
}
