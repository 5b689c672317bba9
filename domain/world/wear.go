package world

import (
	"math"

	"barrelbook/domain/mill"
)

// contour is wear on diameter from the middle of the barrel to its end.
type contour [stationCount]float64

func (c *contour) deepest() float64 {
	most := 0.0
	for _, um := range c {
		most = max(most, um)
	}
	return most
}

// worn is a roll's wear since its grind.
type worn struct {
	contour
	km float64
}

// roll takes the roll on by one piece at a stand.
func (w *World) wearOf(to *worn, r *Roll, s *stand, trouble float64, p *mill.Piece, k int) {
	pass := &p.Passes[k]
	km := kilometres(p.MassT, p.WidthMM, pass.ExitThicknessMM)
	t := &w.Truth
	um := s.rate * km * trouble * r.factor * r.stay
	if t.PerKM {
		for i := range to.contour {
			to.contour[i] += um
		}
		to.km += km
		return
	}
	um *= math.Pow(pass.ForceKN/p.WidthMM/10, t.ForceExponent)
	if t.Fresh > 0 {
		um *= 1 + t.Fresh*math.Exp(-to.km/t.FreshKM)
	}
	g := w.groups[r.Group]
	um *= 1 + t.Softening*(g.newUM-r.trueUM)/(g.newUM-g.scrapUM)
	half := p.WidthMM / 2
	for i := range to.contour {
		x := half - (float64(i)+0.5)*stationMM // from the edge inwards
		switch {
		case x < 0:
		case x < 20:
			to.contour[i] += um * x / 20
		case x < 80:
			to.contour[i] += um * t.EdgeFactor
		default:
			to.contour[i] += um
		}
	}
	to.km += km
}

// Fate is what becomes of a set over a programme when nobody takes it out.
type Fate struct {
	// DeepestUM is each roll's deepest wear after each piece.
	DeepestUM [2][]float64
	// Passes is the first piece, from 1, that takes a roll past its limit; 0 for none.
	Passes int
}

// EndUM is the deepest wear of each roll at the end of the programme.
func (f Fate) EndUM() (end [2]float64) {
	for i, d := range f.DeepestUM {
		end[i] = d[len(d)-1]
	}
	return end
}

// Ahead is what truly becomes of a set over a programme announced, from a piece
// (from 0) on, in a stand.
func (w *World) Ahead(standName string, set *Set, a *Announced, from int) Fate {
	k := w.indexOf(standName)
	s := w.stands[k]
	var f Fate
	to := [2]worn{set.Rolls[0].worn, set.Rolls[1].worn}
	for i := range a.rolled {
		if p := &a.rolled[i]; i >= from && len(p.Passes) > 0 {
			for j, r := range set.Rolls {
				w.wearOf(&to[j], r, s, a.day[k], p, k)
			}
		}
		for j := range to {
			deepest := to[j].deepest()
			f.DeepestUM[j] = append(f.DeepestUM[j], deepest)
			if f.Passes == 0 && deepest > w.Truth.LimitUM {
				f.Passes = i + 1
			}
		}
	}
	return f
}

func (w *World) indexOf(stand string) int {
	for i, s := range w.stands {
		if s.name == stand {
			return i
		}
	}
	panic("world: there is no stand " + stand)
}
