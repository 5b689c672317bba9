package plan

import (
	"cmp"
	"slices"
	"time"

	"barrelbook/api/app/gather"
	"barrelbook/api/app/port"
	"barrelbook/domain/duty"
	"barrelbook/domain/gap"
	"barrelbook/domain/mill"
	"barrelbook/domain/practice"
)

// StandLoad is how the load lies between the work and backup rolls of a stand
// under one piece, with the crown, the heat and the wear that the rolls have.
type StandLoad struct {
	Piece     string
	RolledAt  time.Time // zero for a piece that is still to come
	Campaign  string    // of a piece to come
	WidthMM   float64
	ForceKN   float64
	Predicted bool
	Pairs     []PairLoad
	Gap       *gap.Across // nil where it is not known
	Notes     []string
}

// PairLoad is the load along the barrel of a work roll.
type PairLoad struct {
	Work, Backup    string
	XMM, NPerMM     []float64
	Mean, Peak      float64 // N/mm
	PeakPressureMPa float64
	TakenAsEven     bool
}

// piecesLooked is how far back the last piece of a stand is looked for.
const piecesLooked = 50

// standLoad is that of the piece rolled last in the stand, or of a usual one of the
// newest programme where none was; nil where there is neither, or the stand has
// no backup rolls.
func standLoad(r port.Reader, now *gather.Standing, stand mill.Stand, densityKGPerM3 float64) (*StandLoad, error) {
	mountings := now.Mounted[stand.Name]
	if !stand.Arrangement.Takes(mill.Backup) || len(mountings) == 0 {
		return nil, nil
	}
	l := &StandLoad{}
	piece, pass, err := loadingPiece(r, stand, l)
	if err != nil || pass < 0 {
		return nil, err
	}
	s, err := standNow(now, stand, densityKGPerM3, mountings)
	if err != nil {
		return nil, err
	}
	load, err := s.Take(piece, pass)
	if err != nil {
		return nil, nil // not a piece for these rolls: a barrel shorter than its width
	}
	l.WidthMM, l.ForceKN, l.Predicted, l.Notes = piece.Passes[pass].WidthMM, load.ForceKN, load.Predicted, slices.Compact(load.Warnings)
	for _, c := range s.Contacts() {
		l.Pairs = append(l.Pairs, PairLoad{Work: mountings[c.Front].Roll, Backup: mountings[c.Behind].Roll, XMM: c.FrontXMM, NPerMM: c.FrontNPerMM,
			Mean: c.MeanNPerMM, Peak: c.GreatestNPerMM, PeakPressureMPa: c.PeakPressureMPa, TakenAsEven: c.Even})
	}
	edge := now.Limits(stand).Number(practice.CrownEdgeMM)
	if g, ok := s.Gap(piece.Passes[pass], edge); ok && load.ForceKN > 0 {
		across := g.Across(gap.DefaultPlaces)
		l.Gap = &across
	}
	return l, nil
}

// loadingPiece is the piece that a stand is shown under and its pass there, -1
// where there is none.
func loadingPiece(r port.Reader, stand mill.Stand, l *StandLoad) (mill.Piece, int, error) {
	rolled, _, err := r.Pieces(stand.Mill, port.Page{Limit: piecesLooked})
	if err != nil {
		return mill.Piece{}, -1, err
	}
	for _, piece := range rolled {
		if k := hardestPass(piece, stand.Name); k >= 0 {
			l.Piece, l.RolledAt = piece.ID, piece.RolledAt
			return piece, k, nil
		}
	}
	newest, _, err := r.Campaigns(stand.Mill, port.Page{Limit: 1})
	if err != nil || len(newest) == 0 {
		return mill.Piece{}, -1, err
	}
	campaign, err := r.Campaign(newest[0].Name)
	if err != nil {
		return mill.Piece{}, -1, err
	}
	l.Campaign = campaign.Name
	piece, k := usualPiece(campaign.Pieces, stand.Name)
	l.Piece = piece.ID
	return piece, k, nil
}

// hardestPass is the pass of a piece through the stand with the greatest force,
// -1 where it has none; the last of them where forces were not given.
func hardestPass(p mill.Piece, stand string) int {
	best := -1
	for k, pass := range p.Passes {
		if pass.Stand == stand && (best < 0 || pass.ForceKN >= p.Passes[best].ForceKN) {
			best = k
		}
	}
	return best
}

// standNow are the models of a stand with its rolls as they stand: worn since
// their last grind by the rate now known, and as warm as they are now.
func standNow(now *gather.Standing, stand mill.Stand, densityKGPerM3 float64, mountings []port.Stay) (*duty.Stand, error) {
	rolls, conditions := make([]duty.Roll, len(mountings)), make([]*duty.Condition, len(mountings))
	for i, m := range mountings {
		one, err := now.Roll(m, stand)
		if err != nil {
			return nil, err
		}
		condition := one.Condition
		condition.WornUM = one.WearUM()
		rolls[i], conditions[i] = one.Roll, &condition
	}
	models, err := now.Models(stand)
	if err != nil {
		return nil, err
	}
	models.Kernel, models.Forecast, models.Gap = nil, false, true // nothing is counted here
	s, err := duty.NewStand(stand, densityKGPerM3, rolls)
	if err != nil {
		return nil, err
	}
	s.Use(*models, conditions)
	return s, nil
}

// usualPiece is the piece of the middle width of a programme at the stand.
func usualPiece(pieces []mill.Piece, stand string) (mill.Piece, int) {
	type one struct{ piece, pass int }
	var through []one
	for i, p := range pieces {
		if k := hardestPass(p, stand); k >= 0 {
			through = append(through, one{piece: i, pass: k})
		}
	}
	if len(through) == 0 {
		return mill.Piece{}, -1
	}
	slices.SortStableFunc(through, func(a, b one) int {
		return cmp.Compare(pieces[a.piece].Passes[a.pass].WidthMM, pieces[b.piece].Passes[b.pass].WidthMM)
	})
	middle := through[len(through)/2]
	return pieces[middle.piece], middle.pass
}
