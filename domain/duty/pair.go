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

// pair is a work roll and the backup roll over it.
type pair struct {
	work, backup  int // in the stand's rolls
	law           contact.Law
	commonMM      float64
	solver        *rollload.Solver // nil where the load is taken as even
	load          rollload.Load
	stripX, strip [2]float64 // the strip's load in load

	answer          // the one in use
	kept   []answer // those before it, latest first: the passes of a reversing stand differ and come again
	mean   float64  // line load of the last pass, N/mm
}

// answer is one solution: line load over its mean along the common barrel, edge
// to edge, and what it was found for.
type answer struct {
	shape  []float64
	peak   float64 // greatest over mean
	flat   bool    // shape was taken, not solved
	solved solvedFor
	wornUM float64 // greatest wear laid since
	pend   pending
}

// mostKept is how many answers a pair keeps beside the one in use: enough for
// the passes of a reversing stand.
const mostKept = 7

// solvedFor is what the shape of the load depends on, with the mean line load
// it was found at. Wear is followed apart.
type solvedFor struct {
	widthMM, offsetMM, forceN, bendingN float64
	// thermalUM is the growth of both rolls at places along their barrels, over
	// that in the middle.
	thermalUM [heatPlaces]float64
}

// heatPlaces is at how many places along a barrel two growths are compared.
const heatPlaces = 9

var (
	heatStations = heat.NewStations(heatPlaces)
	gridStations = heat.NewStations(wear.DefaultStations)
)

// warmth is what solvedFor needs of the heat of a pair.
func (s *Stand) warmth(pr *pair) (at [heatPlaces]float64) {
	var one [heatPlaces]float64
	for _, i := range [2]int{pr.work, pr.backup} {
		if g := &s.mech.rolls[i].Thermal; *g != (heat.Growth{}) {
			heatStations.Along(g, one[:])
			for k := range at {
				at[k] += one[k] - one[heatPlaces/2]
			}
		}
	}
	return at
}

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
	return math.Abs(a.widthMM-b.widthMM) <= c.widthMM && a.offsetMM == b.offsetMM &&
		math.Abs(a.forceN-b.forceN) <= c.force*b.forceN && math.Abs(a.bendingN-b.bendingN) <= c.force*b.forceN/10 &&
		nearWarm(a.thermalUM, b.thermalUM, c.thermalUM)
}

func nearWarm(a, b [heatPlaces]float64, um float64) bool {
	for k := range a {
		if math.Abs(a[k]-b[k]) > um {
			return false
		}
	}
	return true
}

// makePairs finds the pairs of the stand. In a six-high stand intermediate rolls
// lie between work and backup rolls, and no solver covers that yet: there are no
// pairs then, and no pressure is told.
func (s *Stand) makePairs() error {
	if s.stand.Arrangement == mill.SixHigh {
		return nil
	}
	at := map[mill.Position]int{}
	for i := range s.rolls {
		at[s.rolls[i].Position] = i
	}
	for _, places := range [][2]mill.Position{{mill.TopWork, mill.TopBackup}, {mill.BottomWork, mill.BottomBackup}} {
		w, haveWork := at[places[0]]
		b, haveBackup := at[places[1]]
		if !haveWork || !haveBackup {
			continue
		}
		p := pair{work: w, backup: b, commonMM: min(s.rolls[w].BarrelLengthMM, s.rolls[b].BarrelLengthMM)}
		var err error
		if p.law, err = contact.NewLaw(s.body(w), s.body(b), contact.DefaultApproachConstant); err != nil {
			return fmt.Errorf("rolls %s and %s: %w", s.rolls[w].Number, s.rolls[b].Number, err)
		}
		p.pend.reset()
		s.pairs = append(s.pairs, p)
	}
	return nil
}

// makeSolvers prepares the load solver of each pair whose rolls are known as
// beams.
func (s *Stand) makeSolvers() {
	var missing []string
	for k := range s.pairs {
		p := &s.pairs[k]
		if lacks := append(s.lacks(p.work), s.lacks(p.backup)...); len(lacks) > 0 {
			missing = append(missing, lacks...)
			continue
		}
		coefficients, err := s.mech.m.Coefficients(rollload.Stack{Work: s.beam(p.work), Backup: s.beam(p.backup), ApproachConstant: contact.DefaultApproachConstant},
			rollload.Options{Slices: s.mech.close.slices, Stations: wear.DefaultStations})
		if err != nil {
			// The dimensions entered are impossible; the piece was rolled all the same.
			missing = append(missing, err.Error())
			continue
		}
		p.solver = rollload.NewSolver(coefficients)
	}
	if len(missing) > 0 {
		s.mech.unknown = fmt.Sprintf("%s: the load is taken as even along the barrel: %s", s.stand.Name, strings.Join(missing, ", "))
	}
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

func (s *Stand) beam(i int) rollload.Roll {
	r, c := &s.rolls[i], s.mech.rolls[i]
	return rollload.Roll{Body: s.body(i),
		BarrelLengthMM: r.BarrelLengthMM, BearingSpanMM: c.BearingSpanMM, NeckDiameterMM: c.NeckDiameterMM, ShearCoefficient: rollload.DefaultShearCoefficient}
}

// press finds how the load of a pass lies on a pair: from the shape last found
// where nothing has moved much, else by the solver, else, where that refuses,
// evenly. It gives the mean and the greatest line load, N/mm.
func (s *Stand) press(k int, p mill.Pass, forceN float64) (mean, greatest float64, said string) {
	pr := &s.pairs[k]
	if s.mech == nil {
		if pr.shape == nil {
			pr.even()
		}
		mean = forceN / pr.commonMM
		return mean, mean, ""
	}
	bending := s.bendingN(p)
	mean = (forceN + 2*bending) / pr.commonMM
	if !(mean > 0) {
		return 0, 0, fmt.Sprintf("%s: the bending force parts the rolls, so no pressure is computed for this pass", p.Stand)
	}
	now := solvedFor{widthMM: p.WidthMM, offsetMM: p.LateralOffsetMM, forceN: forceN, bendingN: bending, thermalUM: s.warmth(pr)}
	if !s.holds(&pr.answer, now) && !s.recall(pr, now) {
		s.makeRoom(k)
		if k == 1 && s.twins() && s.pairs[0].solved == now {
			pr.even()
			copy(pr.shape, s.pairs[0].shape)
			pr.peak, pr.solved, pr.wornUM, pr.flat = s.pairs[0].peak, now, s.pairs[0].wornUM, s.pairs[0].flat
		} else {
			said = s.solve(pr, now)
		}
	}
	return mean, mean * pr.peak, said
}

// holds says whether an answer still does.
func (s *Stand) holds(a *answer, now solvedFor) bool {
	return a.shape != nil && s.mech.close.near(now, a.solved) && a.wornUM <= s.mech.close.wearUM
}

// recall takes up a kept answer that still holds; the one in use is kept in its
// place.
func (s *Stand) recall(pr *pair, now solvedFor) bool {
	for i := range pr.kept {
		if s.holds(&pr.kept[i], now) {
			pr.answer, pr.kept[i] = pr.kept[i], pr.answer
			return true
		}
	}
	return false
}

// makeRoom keeps the answer in use for later. Where there are enough, the oldest
// gives way once its fatigue is laid.
func (s *Stand) makeRoom(k int) {
	pr := &s.pairs[k]
	if pr.shape == nil {
		return
	}
	var free answer
	if len(pr.kept) == mostKept {
		free = pr.kept[mostKept-1]
		s.settle(pr, &free)
		pr.kept = pr.kept[:mostKept-1]
	} else {
		free.pend.reset()
	}
	pr.kept = append(pr.kept, answer{})
	copy(pr.kept[1:], pr.kept)
	pr.kept[0], pr.answer = pr.answer, free
}

// twinUM is how far the wear of two rolls may differ along the barrel for them
// to be taken as alike.
const twinUM = 2

// twins says whether the bottom half of the stand is like the top one, so that
// one solution does for both: diameters to 1 %, of which the shape of the load
// feels a tenth, and the same profiles.
func (s *Stand) twins() bool {
	top, bottom := &s.pairs[0], &s.pairs[1]
	like := func(a, b int) bool {
		x, y, cx, cy := &s.rolls[a], &s.rolls[b], s.mech.rolls[a], s.mech.rolls[b]
		return x.BarrelLengthMM == y.BarrelLengthMM && math.Abs(x.DiameterMM/y.DiameterMM-1) < 0.01 && x.ElasticModulusMPa == y.ElasticModulusMPa &&
			cx.CrownUM == cy.CrownUM && nearWorn(cx.WornUM, cy.WornUM) && cx.BearingSpanMM == cy.BearingSpanMM && cx.NeckDiameterMM == cy.NeckDiameterMM
	}
	return top.solver != nil && bottom.solver != nil && nearWarm(s.warmth(top), s.warmth(bottom), twinUM) && like(top.work, bottom.work) && like(top.backup, bottom.backup)
}

func nearWorn(a, b []float64) bool {
	for i := range a {
		if i >= len(b) || math.Abs(a[i]-b[i]) > twinUM {
			return false
		}
	}
	return true
}

// even is the shape of a load that is the same everywhere.
func (pr *answer) even() {
	if pr.shape == nil {
		pr.shape = make([]float64, wear.DefaultStations)
	}
	for i := range pr.shape {
		pr.shape[i] = 1
	}
	pr.peak, pr.flat = 1, true
}

// solve finds the shape anew.
func (s *Stand) solve(pr *pair, now solvedFor) (said string) {
	pr.even()
	pr.solved, pr.wornUM = now, 0
	if pr.solver == nil {
		return ""
	}
	half := now.widthMM / 2
	pr.stripX = [2]float64{now.offsetMM - half, now.offsetMM + half}
	pr.strip = [2]float64{now.forceN / now.widthMM, now.forceN / now.widthMM}
	pr.load.Strip = rollload.Points{XMM: pr.stripX[:], Value: pr.strip[:]}
	pr.load.BendingForceN = now.bendingN
	pr.load.Work, pr.load.Backup = s.profile(pr.work), s.profile(pr.backup)
	result, err := pr.solver.Solve(&pr.load)
	if err != nil {
		return fmt.Sprintf("%s: the load is taken as even along the barrel: %v", s.stand.Name, err)
	}
	for i, q := range result.StationLineLoadNPerMM {
		pr.shape[i] = q / result.MeanLineLoadNPerMM
	}
	pr.peak, pr.flat = result.MaxLineLoadNPerMM/result.MeanLineLoadNPerMM, false
	return ""
}

// profile is the shape of roll i now: as ground, grown by its heat, less wear.
func (s *Stand) profile(i int) rollload.Profile {
	c := s.mech.rolls[i]
	p := rollload.Profile{CrownUM: c.CrownUM, WearUM: rollload.Points{XMM: s.gridX[i], Value: c.WornUM}}
	if c.Thermal != (heat.Growth{}) {
		grown := make([]float64, wear.DefaultStations)
		gridStations.Along(&c.Thermal, grown)
		p.GrowthUM = rollload.Points{XMM: s.gridX[i], Value: grown}
	}
	return p
}

// along spreads the shape of a pair over the wear grid of roll i, as line load
// at the given mean; 0 beyond the common barrel.
func (s *Stand) along(pr *pair, i int, mean float64, into []float64) {
	s.spread(pr, &pr.answer, i, mean, into)
}

func (s *Stand) spread(pr *pair, a *answer, i int, mean float64, into []float64) {
	half := pr.commonMM / 2
	last := len(a.shape) - 1
	for j, x := range s.gridX[i] {
		switch at := (x + half) / pr.commonMM * float64(last); {
		case at < -1e-9 || at > float64(last)+1e-9:
			into[j] = 0
		default:
			low := int(min(max(math.Floor(at), 0), float64(last-1)))
			part := min(max(at-float64(low), 0), 1)
			into[j] = mean * (a.shape[low] + part*(a.shape[low+1]-a.shape[low]))
		}
	}
}
