// Package offplan learns how what is rolled differs from what a programme said, so
// that what is ahead is neither over- nor underrated: lengths, forces and pieces
// that are never rolled, stand by stand.
package offplan

import (
	"math"
	"time"

	"barrelbook/domain/mill"
)

// Campaign is one programme at one stand as it was rolled, against what it said of
// the same pieces.
type Campaign struct {
	Stand string
	At    time.Time // of the programme's start
	// Pieces were rolled of those up to the last that was; Left were passed over.
	Pieces, Left int
	// Length and Force are the logarithms of rolled over planned: of the kilometres,
	// and of the force weighed by them.
	Length, Force float64
	// HasForce is false where no piece has both forces.
	HasForce bool
}

// fewest pieces that say something of a programme.
const fewest = 5

// Compare holds the pieces that were rolled against those of a programme, by their
// names, density kg/m³. A stand of which fewer than five pieces were rolled is left
// out; lengths that are not above 0 count for nothing.
func Compare(p mill.Programme, rolled []mill.Piece, densityKGPerM3 float64) []Campaign {
	byID := make(map[string]*mill.Piece, len(rolled))
	for i := range rolled {
		byID[rolled[i].ID] = &rolled[i]
	}
	last := -1
	for i := range p.Pieces {
		if byID[p.Pieces[i].ID] != nil {
			last = i
		}
	}
	sums := map[string]*sum{}
	var order []string
	for i := range p.Pieces[:last+1] {
		planned := byStand(&p.Pieces[i], densityKGPerM3)
		var came []standPass
		if piece := byID[p.Pieces[i].ID]; piece != nil {
			came = byStand(piece, densityKGPerM3)
		}
		for _, a := range planned {
			s := sums[a.stand]
			if s == nil {
				s = &sum{}
				sums[a.stand] = s
				order = append(order, a.stand)
			}
			s.add(a, came)
		}
	}
	var list []Campaign
	for _, stand := range order {
		if c, ok := sums[stand].campaign(); ok {
			c.Stand, c.At = stand, p.StartsAt
			list = append(list, c)
		}
	}
	return list
}

// standPass is what a piece does at a stand.
type standPass struct {
	stand   string
	km      float64
	forceKM float64 // kN·km; 0 where a force is not given
}

func byStand(p *mill.Piece, density float64) []standPass {
	var list []standPass
	for _, pass := range p.Passes {
		width := pass.WidthMM
		if width == 0 {
			width = p.WidthMM
		}
		km := p.MassT / density / width / pass.ExitThicknessMM * 1e6 // conservation of mass: wear.RolledKM
		if !(km > 0) || math.IsInf(km, 0) {
			continue
		}
		at := len(list)
		for i := range list {
			if list[i].stand == pass.Stand {
				at = i
			}
		}
		if at == len(list) {
			list = append(list, standPass{stand: pass.Stand})
		}
		list[at].km += km
		list[at].forceKM += pass.ForceKN * km
	}
	return list
}

type sum struct {
	pieces, left                    int
	planned, rolled                 float64 // km
	plannedForce, rolledForce, both float64
}

func (s *sum) add(planned standPass, came []standPass) {
	for _, c := range came {
		if c.stand != planned.stand {
			continue
		}
		s.pieces++
		s.planned += planned.km
		s.rolled += c.km
		if planned.forceKM > 0 && c.forceKM > 0 {
			s.both += c.km
			s.plannedForce += planned.forceKM / planned.km * c.km
			s.rolledForce += c.forceKM
		}
		return
	}
	s.left++
}

func (s *sum) campaign() (Campaign, bool) {
	if s.pieces < fewest {
		return Campaign{}, false
	}
	c := Campaign{Pieces: s.pieces, Left: s.left, Length: math.Log(s.rolled / s.planned)}
	if c.HasForce = s.both > 0; c.HasForce {
		c.Force = math.Log(s.rolledForce / s.plannedForce)
	}
	return c, true
}

// ExposureKM is what those pieces of a programme that were rolled have done to the
// rolls of a stand, km at 10 kN/mm by Archard's law; pieces without a force count by
// their length.
func ExposureKM(p mill.Programme, rolled []mill.Piece, stand string, densityKGPerM3 float64) float64 {
	of := make(map[string]bool, len(p.Pieces))
	for i := range p.Pieces {
		of[p.Pieces[i].ID] = true
	}
	sum := 0.0
	for i := range rolled {
		if !of[rolled[i].ID] {
			continue
		}
		for _, pass := range byStand(&rolled[i], densityKGPerM3) {
			switch {
			case pass.stand != stand:
			case pass.forceKM > 0:
				sum += pass.forceKM / rolled[i].WidthMM / 10
			default:
				sum += pass.km
			}
		}
	}
	return sum
}
