package changeplan

import "sort"

// model is a Problem turned into tables. A boundary is the place before a
// piece, 0 to k-1; a stand's last change is a boundary, or fresh = -1 while it
// still carries the rolls it started with. Tables are indexed by last+1.
//
// The charge for unused life is folded away. With P(j) the usage of a stand
// before piece j counted from its start (P(fresh) = 0), n changes of which the
// last is at p leave n·Limit - P(p) unused and P(k) - P(p) used at the end, so
// that a stand costs
//
//	EndCost · P(k) + n · (ChangeCost + UnusedCost · Limit) - (UnusedCost + EndCost) · P(p)
//
// A change therefore costs the same amount wherever it is made, and a later
// last change never costs more. Both are what dominance rests on.
type model struct {
	p        Problem
	k, n     int
	stopCost []float64
	// open are the boundaries at which a stop may be made though no stand is
	// forced there, ascending. Elsewhere an unforced stop can be moved one piece
	// later, and again, until a stand is forced, the next boundary is dearer, or
	// the programme ends: no change costs more for it and no campaign after it
	// is longer. So only boundaries cheaper than the next one and the last
	// remain.
	open []int
	// reach[s][l+1] is the boundary at which s is forced when last changed at
	// l, k when it can finish. It never falls as l rises from 0 on; the rolls that
	// are in may last longer than fresh ones that follow at once.
	reach  [][]int32
	change []float64
	credit [][]float64 // (UnusedCost + EndCost) · P(l)
	base   float64     // Σ EndCost · P(k)
	bound  *bounds
}

const fresh = -1

func newModel(p Problem) *model {
	m := &model{p: p, k: p.Pieces, n: len(p.Stands), stopCost: make([]float64, p.Pieces)}
	for j := range m.stopCost {
		m.stopCost[j] = p.StopCost
	}
	for _, j := range p.PlannedStops {
		m.stopCost[j] = p.PlannedStopCost
	}
	for j := range m.k {
		if j == m.k-1 || m.stopCost[j] < m.stopCost[j+1] {
			m.open = append(m.open, j)
		}
	}
	for _, s := range p.Stands {
		m.addStand(s)
	}
	m.bound = newBounds(m)
	return m
}

func (m *model) addStand(s Stand) {
	// Beyond the limit nothing more is unused, and the rolls leave before
	// piece 0, so the excess enters no charge.
	start := s.StartUsage
	if s.Reach == nil {
		start = min(start, s.Limit)
	}
	used := cumulate(start, s.Usage)
	worth := s.UnusedCostPerUnit + s.EndCostPerUnit
	credit := make([]float64, m.k+1)
	for l := range m.k {
		credit[l+1] = worth * float64(used[l])
	}
	m.credit = append(m.credit, credit)
	m.base += s.EndCostPerUnit * float64(used[m.k])
	m.change = append(m.change, s.ChangeCost+s.UnusedCostPerUnit*float64(s.Limit))

	reach := reachOf(Criterion{Limit: s.Limit, StartUsage: s.StartUsage, Usage: s.Usage})
	if s.Reach != nil {
		for l := range reach {
			reach[l] = int32(s.Reach[l])
		}
	}
	for _, also := range s.Also {
		for i, r := range reachOf(also) {
			reach[i] = min(reach[i], r)
		}
	}
	// A demanded change at j forces every stand last changed before j.
	for _, j := range s.MustChange {
		for l := fresh; l < j; l++ {
			reach[l+1] = min(reach[l+1], int32(j))
		}
	}
	m.reach = append(m.reach, reach)
}

// cumulate gives the usage before each boundary 0..k, k being the end.
func cumulate(start int64, usage []int64) []int64 {
	sum := make([]int64, len(usage)+1)
	sum[0] = start
	for i, v := range usage {
		sum[i+1] = sum[i] + v
	}
	return sum
}

// reachOf gives for each last change the first piece that would pass the limit.
func reachOf(c Criterion) []int32 {
	k := len(c.Usage)
	used := cumulate(c.StartUsage, c.Usage)
	reach := make([]int32, k+1)
	reach[0] = firstAbove(used, 0, c.Limit)
	for l := range k {
		reach[l+1] = firstAbove(used, l, used[l]+c.Limit)
	}
	return reach
}

// firstAbove is the first piece j >= from after which the usage exceeds allowed.
func firstAbove(used []int64, from int, allowed int64) int32 {
	k := len(used) - 1
	return int32(from + sort.Search(k-from, func(i int) bool { return used[from+i+1] > allowed }))
}
