package duty

import (
	"errors"
	"fmt"
	"math"

	"barrelbook/domain/mill"
	"barrelbook/domain/wear"
)

// Roll is one roll in a stand as the models need it.
type Roll struct {
	Number            string
	Position          mill.Position
	DiameterMM        float64
	BarrelLengthMM    float64
	ElasticModulusMPa float64
	PoissonRatio      float64
	Rate              wear.Rate
	// GrooveDepthMM are the depths of its grooves on radius, by number from 1;
	// empty on a plain barrel.
	GrooveDepthMM []float64
	// GrooveUMPerKT is how fast a groove wears, µm on diameter per 1000 t.
	GrooveUMPerKT float64
}

// WorkingDiameterMM is the diameter a piece is rolled on: that of the barrel,
// or at the bottom of the groove it goes through.
func (r *Roll) WorkingDiameterMM(groove int) float64 {
	if groove < 1 || groove > len(r.GrooveDepthMM) {
		return r.DiameterMM
	}
	return r.DiameterMM - 2*r.GrooveDepthMM[groove-1]
}

// Stand computes what pieces do to the rolls of one stand. It is made once for
// a stretch in which the rolls stay the same.
type Stand struct {
	stand   mill.Stand
	density float64
	rolls   []Roll
	grids   []wear.Grid
	gridX   [][]float64
	work    *Roll // one of the work rolls, nil where the stand has none
	backup  *Roll
	halves  []half
	mech    *mechanics // nil until Use
}

// NewStand prepares the rolls that are in the stand; a place may be empty.
func NewStand(stand mill.Stand, densityKGPerM3 float64, rolls []Roll) (*Stand, error) {
	s := &Stand{stand: stand, density: densityKGPerM3, rolls: rolls, grids: make([]wear.Grid, len(rolls))}
	for i := range rolls {
		grid, err := wear.NewGrid(rolls[i].BarrelLengthMM, wear.DefaultStations)
		if err != nil {
			return nil, fmt.Errorf("roll %s: %w", rolls[i].Number, err)
		}
		s.grids[i] = grid
		s.gridX = append(s.gridX, grid.XS())
		switch rolls[i].Position.Role() {
		case mill.Work:
			s.work = &rolls[i]
		case mill.Backup:
			s.backup = &rolls[i]
		}
	}
	return s, s.makeHalves()
}

// Load is what one pass did: to each roll, in the order given to NewStand, and
// what there is to say about it.
type Load struct {
	Rolls    []Usage
	Warnings []string
	// ForceKN is measured or, where Predicted, computed; 0 where neither is
	// known.
	ForceKN   float64
	Predicted bool
	// ForceDoubt is by how much a predicted force may be out, as a part of itself;
	// Doubts are what the force model says of the pass. Both are among Warnings.
	ForceDoubt float64
	Doubts     []string
	// TorqueKNM is what both work rolls take together, bearing friction included;
	// 0 where it is not known.
	TorqueKNM float64
	// Overload is true where a measured force passed the stand's limit.
	Overload bool
	// Strengths are the margins of the rolls that bore it, as far as known.
	Strengths []Strength
}

func (l *Load) say(said ...string) {
	for _, w := range said {
		if w != "" {
			l.Warnings = append(l.Warnings, w)
		}
	}
}

// Take computes pass k of a piece, from 0. The rolled length follows from
// the piece's mass by conservation (wear.RolledKM); a backup roll is passed by
// the same surface length as its work roll. A piece that comes through the same
// stand again, as in a reversing one, adds length, turns and wear but counts its
// tonnes once; a groove counts them each time. It fails where the piece cannot
// have gone through these rolls, such as a strip wider than the barrel.
func (s *Stand) Take(piece mill.Piece, k int) (Load, error) {
	p, massT := piece.Passes[k], piece.MassT
	km, err := wear.RolledKM(massT, p.WidthMM, p.ExitThicknessMM, s.density)
	if err != nil {
		return Load{}, err
	}
	load := Load{Rolls: make([]Usage, len(s.rolls))}
	measured := p.ForceKN
	f := s.applied(piece, k, &load)
	p.ForceKN = f.kn
	load.Overload = s.stand.MaxForceKN > 0 && measured > s.stand.MaxForceKN
	pressure := s.pressures(p, &load)
	for i := range s.rolls {
		if load.Rolls[i], err = s.borne(i, p, massT, km); err != nil {
			return Load{}, fmt.Errorf("roll %s in %s: %w", s.rolls[i].Number, p.Stand, err)
		}
		load.Rolls[i].MaxPeakPressureMPa = pressure[i]
		if again(piece, k) {
			load.Rolls[i].Pieces, load.Rolls[i].TonnageT = 0, 0
		}
	}
	if s.mech != nil {
		s.follow(p, f, piece.Material, km, &load)
	}
	return load, nil
}

// applied is the force of the pass, measured or predicted, and says what is to
// be said of it.
func (s *Stand) applied(piece mill.Piece, k int, load *Load) forced {
	p, f := piece.Passes[k], s.force(piece, k)
	load.say(f.said...)
	load.ForceKN, load.Predicted, load.ForceDoubt, load.Doubts = f.kn, f.predicted, f.doubt, f.doubts
	if f.kn == 0 && len(f.said) == 0 && p.ExitThicknessMM < p.EntryThicknessMM {
		load.say(fmt.Sprintf("%s: no force was given, so no wear and no pressure are computed for this pass", p.Stand))
	}
	if f.predicted && s.stand.MaxForceKN > 0 && f.kn > s.stand.MaxForceKN {
		load.say(fmt.Sprintf("%s: the force predicted is over the limit of %.0f kN", p.Stand, s.stand.MaxForceKN))
	}
	return f
}

// pressures is the greatest Hertz pressure on each roll, 0 where no pair is
// known or nothing presses.
func (s *Stand) pressures(p mill.Pass, load *Load) []float64 {
	pressure := make([]float64, len(s.rolls))
	if p.ForceKN == 0 {
		return pressure
	}
	for k := range s.halves {
		h := &s.halves[k]
		load.say(s.press(k, p, 1000*p.ForceKN))
		for c := range h.laws {
			law, greatest := &h.laws[c], h.means[c]*h.lines[c].peak
			if !law.InRange(greatest) {
				load.say(fmt.Sprintf("%s: %.0f N/mm press the contact wider than the theory goes", p.Stand, greatest))
			}
			for _, i := range h.rolls[c : c+2] {
				pressure[i] = max(pressure[i], law.PeakPressure(greatest))
			}
		}
	}
	return pressure
}

// follow carries the state of the models past the pass.
func (s *Stand) follow(p mill.Pass, f forced, material string, km float64, load *Load) {
	if s.mech.unknown != "" {
		load.say(s.mech.unknown)
		s.mech.unknown = ""
	}
	for i := range load.Rolls {
		for x, w := range load.Rolls[i].WearUM {
			s.mech.rolls[i].WornUM[x] += w
		}
	}
	if p.ForceKN > 0 {
		for k := range s.halves {
			h, worn := &s.halves[k], 0.0
			for _, i := range h.rolls {
				worn = max(worn, load.Rolls[i].DeepestWearUM())
			}
			h.wornUM += worn
			for i := range h.kept {
				h.kept[i].wornUM += worn
			}
			s.addTurns(k, func(i int) float64 { return load.Rolls[i].Revolutions })
		}
		s.hold(p, f, material, load)
	}
	s.heatUp(p, RollingMin(p, km))
}

// hold is the torque of the pass and whether the rolls bear it.
func (s *Stand) hold(p mill.Pass, f forced, material string, load *Load) {
	if s.work == nil {
		return
	}
	pass := s.loaded(p, f)
	var said []string
	var over string
	load.TorqueKNM, over = s.torque(p, f, pass)
	load.Strengths, said = s.strengths(p, material, pass)
	load.say(over)
	load.say(said...)
}

// again says whether the piece has been through the stand of pass k before.
func again(piece mill.Piece, k int) bool {
	for _, before := range piece.Passes[:k] {
		if before.Stand == piece.Passes[k].Stand {
			return true
		}
	}
	return false
}

// borne is what the pass does to roll i.
func (s *Stand) borne(i int, p mill.Pass, massT, km float64) (Usage, error) {
	r := &s.rolls[i]
	revolutions, err := wear.Revolutions(km, r.WorkingDiameterMM(p.Groove))
	if err != nil {
		return Usage{}, err
	}
	u := Usage{Pieces: 1, TonnageT: massT, RolledKM: km, Revolutions: revolutions, MaxForceKN: p.ForceKN}
	specific := p.ForceKN / p.WidthMM
	if r.Position.Role() != mill.Work {
		specific = p.ForceKN / r.BarrelLengthMM
	}
	exponent := r.Rate.Exponent
	if exponent == 0 {
		exponent = wear.DefaultExponent
	}
	if u.ExposureKM, err = wear.Exposure(km, specific, exponent); err != nil {
		return Usage{}, err
	}
	if len(r.GrooveDepthMM) > 0 && p.Groove > 0 {
		// The groove wears, not the collars beside it.
		u.Grooves = []GrooveUse{{Number: p.Groove, TonnageT: massT, WornUM: r.GrooveUMPerKT * massT / 1000}}
		return u, nil
	}
	u.Widths = []WidthUse{{WidthMM: int(math.Round(p.WidthMM)), RolledKM: km}}
	if p.ForceKN == 0 {
		return u, nil
	}
	u.WearUM = s.grids[i].New()
	if r.Position.Role() == mill.Work {
		laid := wear.Pass{StripWidthMM: p.WidthMM, LateralOffsetMM: p.LateralOffsetMM - p.RollOffsetMM(r.Position), RolledKM: km, ForceKN: p.ForceKN}
		return u, s.grids[i].Lay(u.WearUM, laid, r.Rate)
	}
	// Other rolls wear where others press them.
	return u, s.layPressed(u.WearUM, i, p, km)
}

// layPressed adds the wear of roll i by the rolls it lies against, or by an even
// load along its barrel where those are not there.
func (s *Stand) layPressed(worn []float64, i int, p mill.Pass, km float64) (err error) {
	line, pressed := s.grids[i].New(), false
	s.contactsOf(i, func(h *half, c int) {
		pressed = true
		s.along(h, c, i, line)
		err = errors.Join(err, s.grids[i].LayContact(worn, line, km, s.rolls[i].Rate))
	})
	if pressed {
		return err
	}
	for x := range line {
		line[x] = 1000 * p.ForceKN / s.rolls[i].BarrelLengthMM
	}
	return s.grids[i].LayContact(worn, line, km, s.rolls[i].Rate)
}
