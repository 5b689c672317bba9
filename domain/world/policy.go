package world

import (
	"sort"
	"time"

	"barrelbook/domain/mill"
)

// Choice is a set that comes out of a stand before a piece (from 0) of the
// programme announced. In may be empty: then the set that is ready longest.
type Choice struct {
	Stand  string
	Before int
	In     string
}

// Policy decides what a shop decides, from what a shop knows.
type Policy interface {
	// Changes are decided before the first piece of a programme.
	Changes(w *World, a *Announced) []Choice
	// Buy is asked each week: how many rolls are ordered for each group.
	Buy(w *World) []int
}

// Foreman changes after so many kilometres and keeps so many rolls, as a shop
// without a computer does. The zero value stands for usual figures.
type Foreman struct {
	// Share of the kilometres that usually wear a set to its limit. Defaults to 0.9.
	Share float64
	// Cover is the rolls he keeps of each group, those on order included. Defaults
	// to what is needed and what goes in the time of delivery.
	Cover int
	// Mood is the spread of the length at which he changes.
	Mood float64
}

// Changes before a programme that would take a set beyond the kilometres.
func (f Foreman) Changes(w *World, a *Announced) []Choice {
	if f.Share == 0 {
		f.Share = 0.9
	}
	var list []Choice
	for i, s := range w.stands {
		ahead := 0.0
		for k := range a.Programme.Pieces {
			p := &a.Programme.Pieces[k]
			ahead += kilometres(p.MassT, p.WidthMM, p.Passes[i].ExitThicknessMM)
		}
		mood := factor(w.draw("mood", a.Number, i), f.Mood, 0)
		if s.in != nil && s.km > 0 && s.km+ahead > f.Share*s.nominalKM*mood {
			list = append(list, Choice{Stand: s.name})
		}
	}
	return list
}

// Buy orders up to the cover.
func (f Foreman) Buy(w *World) []int {
	orders := make([]int, len(w.groups))
	for g := range w.groups {
		cover := f.Cover
		if cover == 0 {
			cover = w.Truth.Needed + int(w.Truth.LeadDays/400*float64(w.Truth.Needed))
		}
		orders[g] = max(0, cover-w.Present(g)-w.OnOrder(g))
	}
	return orders
}

// Stands are the names of the stands, and the group of rolls of each.
func (w *World) Stands() (names []string, groups []int) {
	for _, s := range w.stands {
		names, groups = append(names, s.name), append(groups, s.group)
	}
	return names, groups
}

// In is the set in a stand, nil for none, and the kilometres it has rolled there.
func (w *World) In(stand string) (set *Set, km float64) {
	s := w.stands[w.indexOf(stand)]
	return s.in, s.km
}

// NominalKM is how far a usual set goes in a stand: what a foreman has learned.
func (w *World) NominalKM(stand string) float64 { return w.stands[w.indexOf(stand)].nominalKM }

// Ready are the sets of a group that may go in at a moment, the longest ready first.
func (w *World) Ready(g int, at time.Time) []*Set {
	var list []*Set
	for _, s := range w.groups[g].ready {
		if !s.ReadyAt.After(at) {
			list = append(list, s)
		}
	}
	sort.SliceStable(list, func(i, j int) bool { return list[i].ReadyAt.Before(list[j].ReadyAt) })
	return list
}

// Groups is how many groups of rolls there are.
func (w *World) Groups() int { return len(w.groups) }

// GroupStands are the stands that the rolls of a group serve.
func (w *World) GroupStands(g int) []string {
	var names []string
	for _, i := range w.groups[g].stands {
		names = append(names, w.stands[i].name)
	}
	return names
}

// Present is how many rolls of a group are there, OnOrder how many are to come.
func (w *World) Present(g int) int {
	n := 0
	for _, r := range w.order {
		if r.Group == g && !r.Gone() {
			n++
		}
	}
	return n
}

// OnOrder is how many rolls of a group are ordered and not yet here.
func (w *World) OnOrder(g int) int { return len(w.groups[g].orders) }

// Arrivals are when those on order come.
func (w *World) Arrivals(g int) []time.Time { return append([]time.Time(nil), w.groups[g].orders...) }

// Rolls are all rolls that ever came, in order of receipt.
func (w *World) Rolls() []*Roll { return w.order }

// Tonnes is the mass of a programme as it was announced.
func (a *Announced) Tonnes() float64 { return a.Programme.TonnageT() }

// Given is the pieces as they will be rolled, those dropped without passes: truth.
func (a *Announced) Given() []mill.Piece { return a.rolled }
