package duty

import (
	"fmt"
	"math"
	"strings"

	"barrelbook/domain/contact"
	"barrelbook/domain/heat"
	"barrelbook/domain/mill"
	"barrelbook/domain/rollload"
	"barrelbook/domain/wear"
)

// half is the rolls of one half of the stand that press on one another: work
// and backup roll, and the intermediate roll between them in a six-high stand.
type half struct {
	rolls   []int         // in the stand's rolls, from the strip up
	laws    []contact.Law // of each and the next
	solvers map[shifts]*rollload.Solver
	beams   bool // the rolls are known as beams; else the load is taken as even
	load    rollload.Load
	stripX  [2]float64 // the strip's load in load
	strip   [2]float64

	answer               // the one in use
	kept   []answer      // those before it, latest first: the passes of a reversing stand differ and come again
	means  [most]float64 // line load of the last pass on each contact, N/mm
}

// most is the number of contacts in half a six-high stand.
const most = 2

// line is how the load lies along one contact.
type line struct {
	left, right float64   // of the common barrel, along the mill
	shape       []float64 // line load over its mean, edge to edge
	peak        float64   // greatest over mean
	pend        pending
}

// answer is one solution and what it was found for.
type answer struct {
	lines  [most]line
	flat   bool // shapes were taken, not solved
	solved solvedFor
	wornUM float64 // greatest wear laid since
	// axis is how much farther from the strip the work roll's axis lies than with
	// the rolls as ground; empty where not asked for.
	axis rollload.Points
}

// mostKept is how many answers a half keeps beside the one in use: enough for
// the passes of a reversing stand.
const mostKept = 7

// shifts are those of the work and intermediate rolls, on the raster.
type shifts struct{ workMM, innerMM float64 }

// solvedFor is what the shape of the load depends on, with the force it was
// found at. Wear is followed apart.
type solvedFor struct {
	widthMM, offsetMM, forceN, bendingN, innerBendingN float64
	shifts
	// thermalUM is the growth of all rolls at places along their barrels, over
	// that in the middle.
	thermalUM [heatPlaces]float64
}

// heatPlaces is at how many places along a barrel two growths are compared.
const heatPlaces = 9

var (
	heatStations = heat.NewStations(heatPlaces)
	gridStations = heat.NewStations(wear.DefaultStations)
)

// warmth is what solvedFor needs of the heat of a half.
func (s *Stand) warmth(h *half) (at [heatPlaces]float64) {
	var one [heatPlaces]float64
	for _, i := range h.rolls {
		if g := &s.mech.rolls[i].Thermal; *g != (heat.Growth{}) {
			heatStations.Along(g, one[:])
			for k := range at {
				at[k] += one[k] - one[heatPlaces/2]
			}
		}
	}
	return at
}

// shiftRasterMM is how finely the load follows the shift of rolls, a quarter of
// the distance of the stations at which it is kept. Wear follows it exactly.
const shiftRasterMM = 10

func onRaster(mm float64) float64 { return shiftRasterMM * math.Round(mm/shiftRasterMM) }

// closeness is how far things may move before the load along the barrel is
// solved again, and in how many slices.
type closeness struct {
	widthMM, force, thermalUM, wearUM float64
	slices                            int
}

// The books solve finely enough that the line load stays within 4 % of the mean
// and the pressure within 2 % of solving for every piece, closer than the thermal
// crown is known; a forecast, whose forces are plans, within 6 % and 3 %
// (tested).
var (
	forBooks    = closeness{widthMM: 10, force: 0.10, thermalUM: 20, wearUM: 12, slices: 60}
	forForecast = closeness{widthMM: 8, force: 0.15, thermalUM: 30, wearUM: 30, slices: 40}
)

func (c closeness) near(a, b solvedFor) bool {
	return math.Abs(a.widthMM-b.widthMM) <= c.widthMM && a.offsetMM == b.offsetMM && a.shifts == b.shifts &&
		math.Abs(a.forceN-b.forceN) <= c.force*b.forceN && math.Abs(a.bendingN-b.bendingN) <= c.force*b.forceN/10 &&
		math.Abs(a.innerBendingN-b.innerBendingN) <= c.force*b.forceN/10 && nearWarm(a.thermalUM, b.thermalUM, c.thermalUM)
}

func nearWarm(a, b [heatPlaces]float64, um float64) bool {
	for k := range a {
		if math.Abs(a[k]-b[k]) > um {
			return false
		}
	}
	return true
}

// makeHalves finds the halves of the stand whose rolls are all there.
func (s *Stand) makeHalves() error {
	at := map[mill.Position]int{}
	for i := range s.rolls {
		at[s.rolls[i].Position] = i
	}
	stacks := [2][]mill.Position{{mill.TopWork, mill.TopBackup}, {mill.BottomWork, mill.BottomBackup}}
	if s.stand.Arrangement == mill.SixHigh {
		stacks = [2][]mill.Position{{mill.TopWork, mill.TopIntermediate, mill.TopBackup}, {mill.BottomWork, mill.BottomIntermediate, mill.BottomBackup}}
	}
	for _, places := range stacks {
		var h half
		for _, place := range places {
			if i, have := at[place]; have {
				h.rolls = append(h.rolls, i)
			}
		}
		if len(h.rolls) != len(places) {
			continue
		}
		for c := range len(h.rolls) - 1 {
			a, b := h.rolls[c], h.rolls[c+1]
			law, err := contact.NewLaw(s.body(a), s.body(b), contact.DefaultApproachConstant)
			if err != nil {
				return fmt.Errorf("rolls %s and %s: %w", s.rolls[a].Number, s.rolls[b].Number, err)
			}
			h.laws = append(h.laws, law)
		}
		h.answer.reset()
		s.halves = append(s.halves, h)
	}
	return nil
}

func (a *answer) reset() {
	for c := range a.lines {
		a.lines[c].pend.reset()
	}
}

// makeSolvers prepares the load solver of each half whose rolls are known as
// beams.
func (s *Stand) makeSolvers() {
	var missing []string
	for k := range s.halves {
		h := &s.halves[k]
		h.solvers, h.beams = map[shifts]*rollload.Solver{}, false
		var lacks []string
		for _, i := range h.rolls {
			lacks = append(lacks, s.lacks(i)...)
		}
		if len(lacks) > 0 {
			missing = append(missing, lacks...)
			continue
		}
		if _, err := s.solver(h, shifts{}); err != nil {
			// The dimensions entered are impossible; the piece was rolled all the same.
			missing = append(missing, err.Error())
			continue
		}
		h.beams = true
	}
	if len(missing) > 0 {
		s.mech.unknown = fmt.Sprintf("%s: the load is taken as even along the barrel: %s", s.stand.Name, strings.Join(missing, ", "))
	}
}

// solver is that of a half with its rolls shifted.
func (s *Stand) solver(h *half, at shifts) (*rollload.Solver, error) {
	if have := h.solvers[at]; have != nil {
		return have, nil
	}
	stack := rollload.Stack{Work: s.beam(h.rolls[0], at), Backup: s.beam(h.rolls[len(h.rolls)-1], at), ApproachConstant: contact.DefaultApproachConstant}
	if len(h.rolls) == most+1 {
		stack.Intermediate = s.beam(h.rolls[1], at)
	}
	coefficients, err := s.mech.m.Coefficients(stack, rollload.Options{Slices: s.mech.close.slices, Stations: wear.DefaultStations})
	if err != nil {
		return nil, err
	}
	h.solvers[at] = rollload.NewSolver(coefficients)
	return h.solvers[at], nil
}

// lacks names what is not known of a roll as a beam.
func (s *Stand) lacks(i int) (list []string) {
	if s.mech.rolls[i].BearingSpanMM == 0 {
		list = append(list, "no bearing span of "+s.rolls[i].Number)
	}
	if s.mech.rolls[i].NeckDiameterMM == 0 {
		list = append(list, "no neck diameter of "+s.rolls[i].Number)
	}
	return list
}

func (s *Stand) body(i int) contact.Body {
	r := &s.rolls[i]
	return contact.Body{DiameterMM: r.DiameterMM, ElasticModulusMPa: r.ElasticModulusMPa, PoissonRatio: r.PoissonRatio}
}

func (s *Stand) beam(i int, at shifts) rollload.Roll {
	r, c := &s.rolls[i], s.mech.rolls[i]
	return rollload.Roll{Body: s.body(i), BarrelLengthMM: r.BarrelLengthMM, BearingSpanMM: c.BearingSpanMM, NeckDiameterMM: c.NeckDiameterMM,
		ShearCoefficient: rollload.DefaultShearCoefficient, AxialOffsetMM: s.offset(i, at)}
}

// offset is where the middle of roll i lies along the mill.
func (s *Stand) offset(i int, at shifts) float64 {
	return mill.Pass{WorkRollShiftMM: at.workMM, IntermediateRollShiftMM: at.innerMM}.RollOffsetMM(s.rolls[i].Position)
}

// common is the common barrel of contact c, along the mill.
func (s *Stand) common(h *half, c int, at shifts) (left, right float64) {
	end := func(i int, side float64) float64 { return s.offset(i, at) + side*s.rolls[i].BarrelLengthMM/2 }
	a, b := h.rolls[c], h.rolls[c+1]
	return math.Max(end(a, -1), end(b, -1)), math.Min(end(a, 1), end(b, 1))
}

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
