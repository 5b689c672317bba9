package changeplan

import (
	"cmp"
	"math"
	"slices"

	"barrelbook/domain/stop"
)

var inf = math.Inf(1)

const (
	looked = 512
	// A beam lets so many times its width wait at a boundary.
	spare = 8
)

// search walks the boundaries forward over labels.
//
// From a stop at j the plans looked at are those in which a stand that is
// changed at j could not have waited for the next stop: otherwise its change
// is moved there, which costs no more (see model). So the stands changed at
// a stop are the ones first forced, a prefix in that order, and only the
// length of the prefix and the next stop are chosen. At the last stop a
// stand may also be changed for what it then saves at the end.
//
// Of two labels at the same boundary a dominates b when a, after changing here
// every stand that b changed later than a did, costs no more than b: whatever
// b does next, a can do.
type search struct {
	m      *model
	labels labels
	at     [][]int32
	width  int // of the beam, 0 for all
	best   float64
	final  int32 // the label after whose stop the programme ends, -1 for none
	slack  float64
	order  []int
	trial  []int32
	watch  stop.Watch
}

func newSearch(m *model, slack float64, ask stop.Check) *search {
	s := &search{m: m, labels: labels{n: m.n}, best: inf, final: -1, slack: slack, at: make([][]int32, m.k),
		order: make([]int, m.n), trial: make([]int32, m.n), watch: stop.Watch{Check: ask, Every: 256}}
	s.labels.add(label{pos: fresh, parent: -1, total: m.bound.toGo(fresh, s.root())}, s.root())
	return s
}

func (s *search) root() []int32 {
	last := make([]int32, s.m.n)
	for i := range last {
		last[i] = fresh
	}
	return last
}

// run expands the labels boundary by boundary. width, where not 0, keeps only
// that many at each (a beam: quick, without proof). It returns the lower bound
// that was proved: best itself unless budget labels did not suffice.
func (s *search) run(width, budget int) (float64, error) {
	s.width = width
	s.expand(0)
	for j := range s.m.k {
		keep := s.undominated(s.at[j])
		if width > 0 && len(keep) > width {
			s.byTotal(keep)
			keep = keep[:width]
		}
		for _, i := range keep {
			if s.labels.count > budget {
				return min(s.best, s.leastOpen(j)), nil
			}
			if s.labels.at(i).total < s.best-s.slack {
				s.expand(i)
			}
			if err := s.watch.Err(); err != nil {
				return 0, err
			}
		}
		s.at[j] = nil
	}
	return s.best, s.watch.Err()
}

func (s *search) byTotal(at []int32) {
	slices.SortFunc(at, func(a, b int32) int { return cmp.Compare(s.labels.at(a).total, s.labels.at(b).total) })
}

func (s *search) leastOpen(from int) float64 {
	least := inf
	for _, at := range s.at[from:] {
		for _, i := range at {
			least = min(least, s.labels.at(i).total)
		}
	}
	return least
}

func (s *search) lastOf(i int32) []int32 { return s.labels.lastOf(i) }

// undominated leaves the labels that none of the cheapest dominates. Asking
// only so many keeps the work per label bounded; a dominated label that slips
// through costs time and not the proof.
func (s *search) undominated(at []int32) []int32 {
	slices.SortFunc(at, func(a, b int32) int {
		if s.watch.Ended() {
			return 0 // the order does not matter any more, only that it ends
		}
		if c := cmp.Compare(s.labels.at(a).cost, s.labels.at(b).cost); c != 0 {
			return c
		}
		return int(a - b)
	})
	keep := at[:0]
	for _, b := range at {
		if s.watch.Ended() {
			return nil
		}
		near := keep[:min(len(keep), looked)]
		if !slices.ContainsFunc(near, func(a int32) bool { return s.dominates(a, b) }) {
			keep = append(keep, b)
		}
	}
	return keep
}

func (s *search) dominates(a, b int32) bool {
	room := s.labels.at(b).cost - s.labels.at(a).cost + s.slack
	la, lb := s.lastOf(a), s.lastOf(b)
	here := s.labels.at(a).pos
	for i, l := range la {
		reach := s.m.reach[i]
		if l >= lb[i] && reach[l+1] >= reach[lb[i]+1] {
			continue
		}
		// Changed here, a stands no worse than b but for rolls that last longer than
		// fresh ones.
		if room -= s.m.change[i]; room < 0 || reach[here+1] < reach[lb[i]+1] {
			return false
		}
	}
	return room >= 0
}

// expand opens every next stop that can follow label i, and tries to end there.
func (s *search) expand(i int32) {
	m, from := s.m, *s.labels.at(i)
	copy(s.trial, s.lastOf(i))
	s.finish(i, from)
	forced := func(k int) int { return int(m.reach[k][s.lastOf(i)[k]+1]) }
	for k := range s.order {
		s.order[k] = k
	}
	slices.SortFunc(s.order, func(a, b int) int { return forced(a) - forced(b) })

	cost, changed := from.cost, m.k // changed: where the first of the changed ones is forced again
	waited := int(from.pos)         // the next stop lies after it
	for n := 0; !s.watch.Ended(); n++ {
		kept := m.k
		if n < m.n {
			kept = forced(s.order[n])
		}
		s.open(i, cost, waited, min(kept, changed))
		if n == m.n || from.pos == fresh {
			return
		}
		k := s.order[n]
		waited = max(waited, kept)
		if waited >= m.k-1 {
			return // no stop is left for the others to wait for
		}
		s.trial[k] = from.pos
		cost += m.change[k]
		changed = min(changed, int(m.reach[k][from.pos+1]))
	}
}

// open adds the labels for the stops in (after, by], by being where a stand
// is forced, or the end.
func (s *search) open(parent int32, cost float64, after, by int) {
	if after < by && by < s.m.k {
		s.add(parent, cost, by)
	}
	i, _ := slices.BinarySearch(s.m.open, after+1)
	for ; i < len(s.m.open) && s.m.open[i] < by && !s.watch.Ended(); i++ {
		s.add(parent, cost, s.m.open[i])
	}
}

func (s *search) add(parent int32, cost float64, j int) {
	cost += s.m.stopCost[j]
	total := cost + s.m.bound.toGo(j, s.trial)
	if total >= s.best-s.slack {
		return
	}
	s.at[j] = append(s.at[j], s.labels.add(label{cost: cost, total: total, parent: parent, pos: int32(j)}, s.trial))
	if most := spare * s.width; s.width > 0 && len(s.at[j]) > most+spare {
		// A beam keeps so few that most of those waiting would only take room.
		s.byTotal(s.at[j])
		s.labels.free = append(s.labels.free, s.at[j][most:]...)
		s.at[j] = s.at[j][:most]
	}
}

// finish ends the programme with the stop of label i as its last.
func (s *search) finish(i int32, from label) {
	total := from.cost
	for k, l := range s.lastOf(i) {
		cost, _ := s.m.ending(k, int(l), int(from.pos))
		total += cost
	}
	if total < s.best {
		s.best, s.final = total, i
	}
}

// ending is the cost of running stand k to the end, last changed at l, when it
// may be changed once more at j only, and whether it is.
func (m *model) ending(k, l, j int) (cost float64, change bool) {
	cost = inf
	if int(m.reach[k][l+1]) >= m.k {
		cost = -m.credit[k][l+1]
	}
	if j >= 0 && int(m.reach[k][j+1]) >= m.k {
		if c := m.change[k] - m.credit[k][j+1]; c < cost {
			return c, true
		}
	}
	return cost, false
}
