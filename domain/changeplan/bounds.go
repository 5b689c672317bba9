package changeplan

// bounds tells what a partial plan must still cost at least.
//
// The stands only meet in the stops they share. Let stand s pay share[s][j]
// for changing at boundary j, with Σ_s share[s][j] = q(j). A stop then costs
// at least what the stands changed in it pay, so that the stands, each planned
// alone with its own shares, together cost no more than any joint plan. This
// is the Lagrangian relaxation of "who changes needs a stop"; tune looks for
// the shares that make it largest. Any shares give a valid bound.
type bounds struct {
	m     *model
	share [][]float64
	// after[s][j] is the least cost to go of s alone, just changed at j.
	after [][]float64
	// next[s] answers for the cheapest next change of s within a range of
	// boundaries, with its share of the stop and everything after it.
	next []rangeMin
}

// newBounds shares every stop equally.
func newBounds(m *model) *bounds {
	b := &bounds{m: m}
	for range m.n {
		share := make([]float64, m.k)
		for j, c := range m.stopCost {
			share[j] = c / float64(m.n)
		}
		b.share = append(b.share, share)
	}
	b.fill()
	return b
}

func (b *bounds) fill() {
	b.after, b.next = nil, nil
	for s := range b.m.n {
		a := newAlone(b.m.k)
		a.solve(b.m, s, b.share[s])
		b.after = append(b.after, a.cost[1:])
		b.next = append(b.next, newRangeMin(a.next))
	}
}

// toGo is a lower bound on what any plan costs from boundary j on, where the
// stop at j is already paid (j = fresh: nothing is open yet) and last holds
// each stand's last change before j.
func (b *bounds) toGo(j int, last []int32) float64 {
	sum := 0.0
	for s, l := range last {
		reach := int(b.m.reach[s][l+1])
		best := b.next[s].min(j+1, min(reach, b.m.k-1))
		if j >= 0 {
			best = min(best, b.m.change[s]+b.after[s][j])
		}
		if reach >= b.m.k {
			best = min(best, -b.m.credit[s][l+1])
		}
		sum += best
	}
	return sum
}
