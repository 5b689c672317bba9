package duty

import (
	"fmt"

	"barrelbook/domain/contact"
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
	work    *Roll // one of the work rolls, nil where the stand has none
	backup  *Roll
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
		switch rolls[i].Position.Role() {
		case mill.Work:
			s.work = &rolls[i]
		case mill.Backup:
			s.backup = &rolls[i]
		}
	}
	return s, nil
}

// Load is what one pass did: to each roll, in the order given to NewStand, and
// what there is to say about it.
type Load struct {
	Rolls    []Usage
	Warnings []string
	// Overload is true where the force passed the stand's limit.
	Overload bool
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
	if p.ForceKN == 0 {
		load.Warnings = append(load.Warnings, fmt.Sprintf("%s: no force was given, so no wear and no pressure are computed for this pass", p.Stand))
	}
	load.Overload = s.stand.MaxForceKN > 0 && p.ForceKN > s.stand.MaxForceKN
	pressure, err := s.peakPressure(p)
	if err != nil {
		return Load{}, err
	}
	for i := range s.rolls {
		if load.Rolls[i], err = s.borne(i, p, massT, km); err != nil {
			return Load{}, fmt.Errorf("roll %s in %s: %w", s.rolls[i].Number, p.Stand, err)
		}
		load.Rolls[i].MaxPeakPressureMPa = pressure
		if again(piece, k) {
			load.Rolls[i].Pieces, load.Rolls[i].TonnageT = 0, 0
		}
	}
	return load, nil
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
	if r.Position.Role() == mill.Backup {
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
	if p.ForceKN == 0 {
		return u, nil
	}
	u.WearUM = s.grids[i].New()
	laid := wear.Pass{StripWidthMM: p.WidthMM, LateralOffsetMM: p.LateralOffsetMM, RolledKM: km, ForceKN: p.ForceKN}
	if r.Position.Role() == mill.Backup {
		// The load between the rolls is taken as even along the barrel.
		laid.StripWidthMM, laid.LateralOffsetMM = r.BarrelLengthMM, 0
	}
	return u, s.grids[i].Lay(u.WearUM, laid, r.Rate)
}

// peakPressure is the Hertz peak pressure between work and backup roll at the
// mean line load over the common barrel; 0 in a two-high stand.
func (s *Stand) peakPressure(p mill.Pass) (float64, error) {
	if s.work == nil || s.backup == nil || p.ForceKN == 0 {
		return 0, nil
	}
	length := min(s.work.BarrelLengthMM, s.backup.BarrelLengthMM)
	law, err := contact.NewLaw(
		contact.Body{DiameterMM: s.work.DiameterMM, ElasticModulusMPa: s.work.ElasticModulusMPa, PoissonRatio: s.work.PoissonRatio},
		contact.Body{DiameterMM: s.backup.DiameterMM, ElasticModulusMPa: s.backup.ElasticModulusMPa, PoissonRatio: s.backup.PoissonRatio},
		contact.Foeppl)
	if err != nil {
		return 0, err
	}
	return law.PeakPressure(p.ForceKN * 1000 / length), nil
}
