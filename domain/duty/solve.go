package duty

import (
	"fmt"
	"math"

	"barrelbook/domain/gap"
	"barrelbook/domain/heat"
	"barrelbook/domain/rollload"
	"barrelbook/domain/wear"
)

// even makes the load the same everywhere along each contact.
func (s *Stand) even(h *half, now solvedFor) {
	for c := range h.laws {
		l := &h.lines[c]
		l.left, l.right = s.common(h, c, now.shifts)
		if l.shape == nil {
			l.shape = make([]float64, wear.DefaultStations)
		}
		for i := range l.shape {
			l.shape[i] = 1
		}
		l.peak = 1
	}
	h.solved, h.flat, h.wornUM = now, true, 0
	h.axis = rollload.Points{}
}

// solve finds the shapes anew.
func (s *Stand) solve(h *half, now solvedFor) (said string) {
	s.even(h, now)
	if !h.beams {
		return ""
	}
	taken := func(err error) string {
		return fmt.Sprintf("%s: the load is taken as even along the barrel: %v", s.stand.Name, err)
	}
	solver, err := s.solver(h, now.shifts)
	if err != nil {
		return taken(err)
	}
	s.setLoad(h, now)
	result, err := solver.Solve(&h.load)
	if err != nil {
		return taken(err)
	}
	for c, of := range [most]rollload.Contact{result.Contact, result.Backup} {
		if c == len(h.laws) {
			break
		}
		for i, q := range of.StationLineLoadNPerMM {
			h.lines[c].shape[i] = q / of.MeanLineLoadNPerMM
		}
		h.lines[c].peak = of.MaxLineLoadNPerMM / of.MeanLineLoadNPerMM
	}
	h.flat = false
	if s.mech.m.Gap {
		s.bend(h, solver, result)
	}
	return ""
}

func (s *Stand) setLoad(h *half, now solvedFor) {
	reach := now.widthMM / 2
	h.stripX = [2]float64{now.offsetMM - reach, now.offsetMM + reach}
	h.strip = [2]float64{now.forceN / now.widthMM, now.forceN / now.widthMM}
	last := len(h.rolls) - 1
	h.load = rollload.Load{Strip: rollload.Points{XMM: h.stripX[:], Value: h.strip[:]}, BendingForceN: now.bendingN, IntermediateBendingForceN: now.innerBendingN,
		Work: s.profile(h.rolls[0]), Backup: s.profile(h.rolls[last])}
	if last == most {
		h.load.Intermediate = s.profile(h.rolls[1])
	}
}

// bend keeps how much farther from the strip the work roll's axis lies than it
// would under the same pass with the rolls as ground.
func (s *Stand) bend(h *half, solver *rollload.Solver, result rollload.Result) {
	last := len(h.rolls) - 1
	h.load.Work, h.load.Backup = s.ground(h.rolls[0]), s.ground(h.rolls[last])
	if last == most {
		h.load.Intermediate = s.ground(h.rolls[1])
	}
	if axis, err := gap.Bending(result, solver, &h.load); err == nil {
		h.axis = axis
	}
}

// profile is the shape of roll i now: as ground, grown by its heat, less wear.
func (s *Stand) profile(i int) rollload.Profile {
	p := s.ground(i)
	p.WearUM = rollload.Points{XMM: s.gridX[i], Value: s.mech.rolls[i].WornUM}
	p.GrowthUM = s.grown(i)
	return p
}

// grown is how much roll i has grown along its barrel; empty where it is cold.
func (s *Stand) grown(i int) rollload.Points {
	g := &s.mech.rolls[i].Thermal
	if *g == (heat.Growth{}) {
		return rollload.Points{}
	}
	grown := make([]float64, wear.DefaultStations)
	gridStations.Along(g, grown)
	return rollload.Points{XMM: s.gridX[i], Value: grown}
}

// ground is the shape of roll i as it left the grinder.
func (s *Stand) ground(i int) rollload.Profile {
	c := s.mech.rolls[i]
	if len(c.Measured.XMM) > 0 {
		return rollload.Profile{MeasuredUM: c.Measured}
	}
	p := rollload.Profile{CrownUM: c.CrownUM, PolynomialUM: c.Contour}
	if s.rolls[i].Position.Bottom() {
		p.PolynomialUM = c.Contour.Turned()
	}
	return p
}

// along spreads the shape of contact c over the wear grid of roll i, as line load
// at the mean of the last pass; 0 beyond the common barrel.
func (s *Stand) along(h *half, c, i int, into []float64) {
	s.spread(&h.answer, c, i, h.means[c], into)
}

func (s *Stand) spread(a *answer, c, i int, mean float64, into []float64) {
	l, offset := &a.lines[c], s.offset(i, a.solved.shifts)
	if !(mean > 0) { // nothing presses, and there may be no shape yet
		clear(into)
		return
	}
	last := len(l.shape) - 1
	for j, x := range s.gridX[i] {
		switch at := (x + offset - l.left) / (l.right - l.left) * float64(last); {
		case at < -1e-9 || at > float64(last)+1e-9:
			into[j] = 0
		default:
			low := int(min(max(math.Floor(at), 0), float64(last-1)))
			part := min(max(at-float64(low), 0), 1)
			into[j] = mean * (l.shape[low] + part*(l.shape[low+1]-l.shape[low]))
		}
	}
}
