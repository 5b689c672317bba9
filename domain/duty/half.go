package duty

import (
	"fmt"
	"math"
	"strings"

	"barrelbook/domain/contact"
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
