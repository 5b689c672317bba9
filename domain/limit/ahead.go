package limit

import (
	"barrelbook/domain/duty"
	"barrelbook/domain/fatigue"
	"barrelbook/domain/mill"
	"barrelbook/domain/standing"
)

// Ahead is what a programme does to the rolls of a stand, piece by piece at the
// planned figures.
type Ahead struct {
	Stand  *standing.Stand
	Rolls  []*standing.Roll // the work rolls first
	Pieces []mill.Piece
	// Uses are what each piece does to each roll, by roll and piece, of those the
	// programme was loaded with. Factor says what it does to these rolls.
	Uses   [][]duty.Usage
	Factor []Factor
	// FatigueExponent is that of the mill's policy.
	FatigueExponent float64
	// LengthCV and ForceCV are told with a source.
	LengthCV, ForceCV float64

	// Per piece: the greatest force given and torque of a force given, the least
	// margin of strength and whose it is, and how fast the work rolls turn, 0 where
	// no speed is known.
	ForceKN, TorqueKNM []float64
	Margin             []Held
	Fastest, Slowest   []float64

	gaps    []gapAhead // per piece
	wear    []*profile
	fatigue []*fatigueAhead
}

// Factor is what a roll takes of what another one of its place took.
type Factor struct{ Wear, Turns, Pressure float64 }

// Held is the least margin of strength of a piece.
type Held struct {
	Roll  int // −1 for none
	Share float64
}

// NewAhead makes room for a programme.
func NewAhead(stand *standing.Stand, pieces []mill.Piece) *Ahead {
	n := len(pieces)
	a := &Ahead{Stand: stand, Rolls: stand.Rolls(), Pieces: pieces,
		gaps: make([]gapAhead, n), ForceKN: make([]float64, n), TorqueKNM: make([]float64, n), Margin: make([]Held, n), Fastest: make([]float64, n), Slowest: make([]float64, n)}
	for i := range a.Margin {
		a.Margin[i].Roll = -1
	}
	a.Uses, a.Factor = make([][]duty.Usage, len(a.Rolls)), make([]Factor, len(a.Rolls))
	a.wear, a.fatigue = make([]*profile, len(a.Rolls)), make([]*fatigueAhead, len(a.Rolls))
	for j := range a.Rolls {
		a.Uses[j], a.Factor[j] = make([]duty.Usage, n), Factor{1, 1, 1}
	}
	return a
}

// Book adds what a pass of piece i did. Settle follows the last.
func (a *Ahead) Book(i int, load duty.Load) {
	for j := range load.Rolls {
		if u := &a.Uses[j][i]; u.RolledKM == 0 {
			*u = load.Rolls[j] // the only pass but in a reversing stand
		} else {
			u.Add(load.Rolls[j])
		}
	}
	if load.Predicted {
		return // no ground to bar a programme
	}
	a.TorqueKNM[i] = max(a.TorqueKNM[i], load.TorqueKNM)
	for _, s := range load.Strengths {
		if a.Margin[i].Roll < 0 || s.Margin < a.Margin[i].Share {
			a.Margin[i] = Held{Roll: s.Roll, Share: s.Margin}
		}
	}
}

// Settle sums what was booked. damage are the fields that the programme laid
// into the rolls, nil where it is not followed.
func (a *Ahead) Settle(damage []*fatigue.Field) {
	for j := range a.Rolls {
		a.wear[j] = newProfile(a.Uses[j])
		if damage != nil && damage[j] != nil {
			a.fatigue[j] = newFatigueAhead(a.Uses[j], damage[j], a.FatigueExponent)
		}
	}
}

// HasWear says whether wear of roll j is known, borne or ahead.
func (a *Ahead) HasWear(j int) bool { return a.Rolls[j].WearUM() != nil || a.wear[j] != nil }

// WearStations is along how many stations the programme wears roll j, 0 where
// it is not known.
func (a *Ahead) WearStations(j int) int {
	if a.wear[j] == nil {
		return 0
	}
	return a.wear[j].stations
}

// Sum gives the sums of a figure of roll j after i pieces, i from 0 to n.
func (a *Ahead) Sum(j int, figure func(*duty.Usage) float64) []float64 {
	sums := make([]float64, len(a.Pieces)+1)
	for i := range a.Uses[j] {
		sums[i+1] = sums[i] + figure(&a.Uses[j][i])
	}
	return sums
}

// Each gives a figure of roll j per piece.
func (a *Ahead) Each(j int, figure func(*duty.Usage) float64) []float64 {
	list := make([]float64, len(a.Pieces))
	for i := range a.Uses[j] {
		list[i] = figure(&a.Uses[j][i])
	}
	return list
}

// Likewise is the same programme with other rolls in the same places, each with
// what it takes of what the one before it took. It shares what it can with a.
func (a *Ahead) Likewise(stand *standing.Stand, factor []Factor) *Ahead {
	other := *a
	other.Stand, other.Rolls, other.Factor = stand, stand.Rolls(), make([]Factor, len(factor))
	for j, f := range factor {
		was := a.Factor[j]
		other.Factor[j] = Factor{was.Wear * f.Wear, was.Turns * f.Turns, was.Pressure * f.Pressure}
	}
	return &other
}
