package finish

import (
	"fmt"
	"slices"

	"barrelbook/domain/limit"
	"barrelbook/domain/mill"
	"barrelbook/domain/practice"
)

// changeGroove sends the pieces on through spare grooves of the same rolls, one
// after the other, each for as long as its tonnes last: at the latest planned
// stop before the first groove is full, and where it is full. No roll is changed,
// so the cost is that of the stops.
func (r *run) changeGroove(bars []bar, a *Answer) (list []Remedy, err error) {
	if len(bars) > 0 || a.Limiting == nil || a.Limiting.Criterion != limit.GrooveTonnage {
		return nil, nil
	}
	full, ok := r.regrooved(a.Limiting.Groove, -1)
	if !ok {
		return nil, nil
	}
	routes := []grooveRoute{full}
	stop := 0
	for _, s := range r.in.Stops {
		if s.BeforePiece > r.in.FromPiece && s.BeforePiece < full.before {
			stop = max(stop, s.BeforePiece)
		}
	}
	if stop > 0 {
		if early, ok := r.regrooved(a.Limiting.Groove, stop-1); ok {
			routes = append(routes, early)
		}
	}
	for _, route := range routes {
		in := *r.in
		in.Pieces = route.pieces
		other, err := newRun(&in, r.work(), r.backup())
		if err != nil {
			return nil, err
		}
		p, v := other.verdict(nil, other.all())
		list = append(list, Remedy{What: ChangeGroove, Groove: route.groove, BeforePiece: route.before, Verdict: v, Probability: p, Cost: money(route.cost),
			Sentence: fmt.Sprintf("%s: %s sure to finish", route.sentence(r), percent(p))})
	}
	return list, nil
}

// grooveRoute is the programme with the pieces of one groove sent on through
// spare ones.
type grooveRoute struct {
	pieces  []mill.Piece
	groove  int // the first spare
	before  int // the piece it is first used for, from 1
	changes int
	cost    float64
}

func (g grooveRoute) sentence(r *run) string {
	where := fmt.Sprintf("before piece %d (%s)", g.before, r.in.Pieces[g.before-1].ID)
	if stop := r.stopBefore(g.before - r.in.FromPiece); stop != nil {
		where = fmt.Sprintf("at the planned stop %s before piece %d", stop.Name, g.before)
	}
	also := ""
	if g.changes > 1 {
		also = fmt.Sprintf(", and on through %d more later", g.changes-1)
	}
	return fmt.Sprintf("%s: go to spare groove %d %s%s, without a roll change", r.in.Stand.Name, g.groove, where, also)
}

// regrooved leaves groove from when it is full, or before piece at (index in the
// programme) where at is not below 0. ok is false where nothing need be changed
// or the spares do not last.
func (r *run) regrooved(from, at int) (route grooveRoute, ok bool) {
	route.pieces = slices.Clone(r.in.Pieces)
	spares, used, groove := r.spareGrooves(), mostThrough(r.work(), from), from
	for i := r.in.FromPiece - 1; i < len(route.pieces); i++ {
		t := r.throughGroove(route.pieces[i], from)
		if t == 0 {
			continue
		}
		if used+t > r.grooveLimit() || (at >= 0 && i >= at && route.changes == 0) {
			if len(spares) == 0 {
				return route, false
			}
			groove, spares, used = spares[0], spares[1:], 0
			route.changes++
			if route.changes == 1 {
				route.groove, route.before = groove, i+1
			}
			if r.stopBefore(i+1-r.in.FromPiece) != nil {
				route.cost += r.work().Costs.PlannedStop
			} else {
				route.cost += r.work().Costs.Stop
			}
		}
		used += t
		route.pieces[i] = r.regroove(route.pieces[i], from, groove)
	}
	return route, route.changes > 0
}

// spareGrooves are the numbers nothing went through on any roll of the set and
// the programme does not use.
func (r *run) spareGrooves() (list []int) {
	if len(r.work().Rolls) == 0 {
		return nil
	}
	for g := range r.work().Rolls[0].GrooveDepthMM {
		spare := mostThrough(r.work(), g+1) == 0 && !r.goesThrough(g+1)
		for i := range r.work().Rolls {
			spare = spare && g < len(r.work().Rolls[i].GrooveDepthMM)
		}
		if spare {
			list = append(list, g+1)
		}
	}
	return list
}

// mostThrough is the most any roll of the set has had through a groove, from 1.
func mostThrough(s *Set, groove int) float64 {
	most := 0.0
	for i := range s.Rolls {
		most = max(most, s.Rolls[i].GrooveT(groove))
	}
	return most
}

// grooveLimit is the tightest of the set.
func (r *run) grooveLimit() float64 {
	least := r.work().Rolls[0].Limit(practice.MaxGrooveT).Number
	for i := range r.work().Rolls {
		least = min(least, r.work().Rolls[i].Limit(practice.MaxGrooveT).Number)
	}
	return least
}

func (r *run) throughGroove(p mill.Piece, groove int) float64 {
	t := 0.0
	for _, pass := range p.Passes {
		if pass.Stand == r.in.Stand.Name && pass.Groove == groove {
			t += p.MassT
		}
	}
	return t
}

func (r *run) regroove(p mill.Piece, from, to int) mill.Piece {
	p.Passes = slices.Clone(p.Passes)
	for k := range p.Passes {
		if p.Passes[k].Stand == r.in.Stand.Name && p.Passes[k].Groove == from {
			p.Passes[k].Groove = to
		}
	}
	return p
}

// goesThrough says whether a piece still to be rolled goes through a groove.
func (r *run) goesThrough(groove int) bool {
	for _, p := range r.pieces {
		if r.throughGroove(p, groove) > 0 {
			return true
		}
	}
	return false
}
