package duty

import (
	"fmt"

	"barrelbook/domain/mill"
)

// press finds how the load of a pass lies on a half: from the shapes last found
// where nothing has moved much, else by the solver, else, where that refuses,
// evenly. It leaves the mean line loads in means.
func (s *Stand) press(k int, p mill.Pass, forceN float64) (said string) {
	h := &s.halves[k]
	now := s.asked(h, p, forceN)
	carried := now.forceN
	for c := range h.laws {
		carried += 2 * [most]float64{now.bendingN, now.innerBendingN}[c]
		left, right := s.common(h, c, now.shifts)
		h.means[c] = carried / (right - left)
		if !(h.means[c] > 0) {
			h.means = [most]float64{}
			return fmt.Sprintf("%s: the bending force parts the rolls, so no pressure is computed for this pass", p.Stand)
		}
	}
	switch {
	case s.mech == nil:
		s.even(h, now)
	case s.holds(&h.answer, now) || s.recall(h, now):
	default:
		s.makeRoom(k)
		if k == 0 || !s.copyTwin(now) {
			said = s.solve(h, now)
		}
	}
	return said
}

// asked is what the shape of the load under a pass depends on.
func (s *Stand) asked(h *half, p mill.Pass, forceN float64) solvedFor {
	now := solvedFor{widthMM: p.WidthMM, offsetMM: p.LateralOffsetMM, forceN: forceN, shifts: shifts{workMM: onRaster(p.WorkRollShiftMM)}}
	if len(h.laws) == most {
		now.innerMM = onRaster(p.IntermediateRollShiftMM)
	}
	if s.mech == nil {
		return now
	}
	now.thermalUM, now.bendingN = s.warmth(h), s.bendingN(p)
	if len(h.laws) == most {
		now.innerBendingN = 1000 * p.IntermediateBendingForceKN
	}
	return now
}

// holds says whether an answer still does.
func (s *Stand) holds(a *answer, now solvedFor) bool {
	return a.lines[0].shape != nil && s.mech.close.near(now, a.solved) && a.wornUM <= s.mech.close.wearUM
}

// recall takes up a kept answer that still holds; the one in use is kept in its
// place.
func (s *Stand) recall(h *half, now solvedFor) bool {
	for i := range h.kept {
		if s.holds(&h.kept[i], now) {
			h.answer, h.kept[i] = h.kept[i], h.answer
			return true
		}
	}
	return false
}

// makeRoom keeps the answer in use for later. Where there are enough, the oldest
// gives way once its fatigue is laid.
func (s *Stand) makeRoom(k int) {
	h := &s.halves[k]
	if h.lines[0].shape == nil {
		return
	}
	var free answer
	if len(h.kept) == mostKept {
		free = h.kept[mostKept-1]
		s.settle(h, &free)
		h.kept = h.kept[:mostKept-1]
	} else {
		free.reset()
	}
	h.kept = append(h.kept, answer{})
	copy(h.kept[1:], h.kept)
	h.kept[0], h.answer = h.answer, free
}
