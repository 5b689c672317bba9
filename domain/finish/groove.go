package finish

import (
	"fmt"
	"slices"

	"barrelbook/domain/duty"
	"barrelbook/domain/mill"
)

// grooves lists the tonnes through each groove of a roll that the programme
// uses, against the practice. Masses are taken as exact, as with tonnes of the
// campaign.
func (r *run) grooves(roll *Roll) (list []soft) {
	if !roll.MaxGrooveT.Set {
		return nil
	}
	for g, sums := range r.grooveT {
		if sums[r.n] == 0 || g >= len(roll.GrooveDepthMM) {
			continue
		}
		now := roll.grooveNow(g)
		use := func(m int) float64 { return now + r.gather(r.first(m)...).groove[g] }
		list = append(list, soft{
			margin: Margin{Roll: roll.Number, Criterion: GrooveTonnage, Groove: g + 1, Unit: "t", Limit: roll.MaxGrooveT.Number, Now: now,
				Source: fmt.Sprintf("groove %d; limit: %s; use: pieces rolled since the grooves were turned and masses of the programme, taken as exact", g+1, roll.MaxGrooveT.Source)},
			use:   use,
			holds: func(m int) float64 { return certain(use(m) <= roll.MaxGrooveT.Number) },
			at:    func(m int, _ float64) float64 { return use(m) },
		})
	}
	return list
}

func (r *Roll) grooveNow(g int) float64 {
	if g < len(r.GrooveT) {
		return r.GrooveT[g]
	}
	return 0
}

// groovePassed says whether any groove of a roll passes its tonnes.
func (roll *Roll) groovePassed(u *usage) bool {
	if !roll.MaxGrooveT.Set {
		return false
	}
	for g, t := range u.groove {
		if t > 0 && g < len(roll.GrooveDepthMM) && roll.grooveNow(g)+t > roll.MaxGrooveT.Number {
			return true
		}
	}
	return false
}

// bookGrooves adds what a pass sent through a groove. The work rolls of a set
// are used alike, so the first that tells speaks for all.
func (r *run) bookGrooves(i int, load duty.Load) {
	for _, u := range load.Rolls {
		if len(u.Grooves) == 0 {
			continue
		}
		for _, g := range u.Grooves {
			for len(r.grooveT) < g.Number {
				r.grooveT = append(r.grooveT, make([]float64, r.n+1))
			}
			r.grooveT[g.Number-1][i+1] += g.TonnageT
		}
		return
	}
}

// sumGrooves turns tonnes per piece into sums.
func (r *run) sumGrooves() {
	for _, sums := range r.grooveT {
		for i := range r.n {
			sums[i+1] += sums[i]
		}
	}
}

// changeGroove sends the pieces on through spare grooves of the same rolls, one
// after the other, each for as long as its tonnes last. No roll is changed, so
// the cost is that of the stops.
func (r *run) changeGroove(bars []bar, a *Answer) ([]Remedy, error) {
	if len(bars) > 0 || a.Limiting == nil || a.Limiting.Criterion != GrooveTonnage {
		return nil, nil
	}
	from := a.Limiting.Groove
	spares := r.spareGrooves()
	pieces := slices.Clone(r.in.Pieces)
	used, groove, cost := r.work.mostThrough(from-1), from, 0.0
	first, firstGroove, changes := 0, 0, 0
	for i := r.in.FromPiece - 1; i < len(pieces); i++ {
		t := r.throughGroove(pieces[i], from)
		if t == 0 {
			continue
		}
		if used+t > r.grooveLimit() {
			if len(spares) == 0 {
				return nil, nil
			}
			groove, spares, used = spares[0], spares[1:], 0
			changes++
			if first == 0 {
				first, firstGroove = i+1, groove
			}
			if r.stopBefore(i+1-r.in.FromPiece) != nil {
				cost += r.work.Costs.PlannedStop
			} else {
				cost += r.work.Costs.Stop
			}
		}
		used += t
		pieces[i] = r.regroove(pieces[i], from, groove)
	}
	if changes == 0 {
		return nil, nil
	}
	in := *r.in
	in.Pieces = pieces
	other, err := newRun(&in, r.work, r.backup)
	if err != nil {
		return nil, err
	}
	p, v := other.verdict(nil, span{0, r.n, 1})
	sentence := fmt.Sprintf("%s: go to spare groove %d before piece %d (%s), without a roll change", r.in.Stand.Name, firstGroove, first, r.in.Pieces[first-1].ID)
	if changes > 1 {
		sentence += fmt.Sprintf(", and on through %d more later", changes-1)
	}
	return []Remedy{{What: ChangeGroove, Groove: firstGroove, BeforePiece: first, Verdict: v, Probability: p, Cost: money(cost),
		Sentence: fmt.Sprintf("%s: %s sure to finish", sentence, percent(p))}}, nil
}

// spareGrooves are the numbers nothing went through on any roll of the set and
// the programme does not use.
func (r *run) spareGrooves() (list []int) {
	if len(r.work.Rolls) == 0 {
		return nil
	}
	for g := range r.work.Rolls[0].GrooveDepthMM {
		spare := r.work.mostThrough(g) == 0 && (g >= len(r.grooveT) || r.grooveT[g][r.n] == 0)
		for i := range r.work.Rolls {
			spare = spare && g < len(r.work.Rolls[i].GrooveDepthMM)
		}
		if spare {
			list = append(list, g+1)
		}
	}
	return list
}

// mostThrough is the most any roll of the set has had through a groove.
func (s *Set) mostThrough(g int) float64 {
	most := 0.0
	for i := range s.Rolls {
		most = max(most, s.Rolls[i].grooveNow(g))
	}
	return most
}

// grooveLimit is the tightest of the set.
func (r *run) grooveLimit() float64 {
	limit := r.work.Rolls[0].MaxGrooveT.Number
	for i := range r.work.Rolls {
		limit = min(limit, r.work.Rolls[i].MaxGrooveT.Number)
	}
	return limit
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
