package changeplan

import (
	"math/bits"
	"slices"
)

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

// tune raises the bound of the whole programme by subgradient steps: where a
// stand alone would change at j its share there rises, at the expense of the
// stands that would not. known is the cost of some plan; it sets the length of
// the steps (Polyak's rule) and ends them when the bound has met it.
func (b *bounds) tune(known float64, steps int) {
	best, length := inf, 1.0
	kept := make([][]float64, b.m.n)
	solved := make([]alone, b.m.n)
	for s := range solved {
		solved[s] = newAlone(b.m.k)
	}
	stale := 0
	for range steps {
		bound := 0.0
		for s := range solved {
			solved[s].solve(b.m, s, b.share[s])
			bound += solved[s].cost[0]
		}
		if best == inf || bound > best {
			best, stale = bound, 0
			for s := range kept {
				kept[s] = append(kept[s][:0], b.share[s]...)
			}
		} else if stale++; stale == 8 {
			stale, length = 0, length/2
		}
		if known-bound <= 1e-9*known || !b.step(solved, length*(known-bound)) {
			break
		}
	}
	for s := range kept {
		copy(b.share[s], kept[s])
	}
	b.fill()
}

// step moves the shares along the stands' wishes and back onto Σ_s = q(j).
// It reports whether there was a direction to go.
func (b *bounds) step(solved []alone, distance float64) bool {
	wish := make([][]bool, b.m.n)
	norm := 0.0
	count := make([]float64, b.m.k)
	for s := range solved {
		wish[s] = solved[s].changes()
		for j, w := range wish[s] {
			if w {
				count[j]++
			}
		}
	}
	n := float64(b.m.n)
	for _, c := range count {
		norm += c * (n - c) / n // Σ_s (wish - mean wish)²
	}
	if norm == 0 {
		return false
	}
	at := make([]float64, b.m.n)
	for j, c := range count {
		if c == 0 {
			continue
		}
		for s := range at {
			at[s] = b.share[s][j] - distance/norm*c/n
			if wish[s][j] {
				at[s] += distance / norm
			}
		}
		project(at, b.m.stopCost[j])
		for s, v := range at {
			b.share[s][j] = v
		}
	}
	return true
}

// project moves v to the nearest point with v >= 0 and Σ v = total: the same
// amount is taken from all and what would fall below 0 stays at 0.
func project(v []float64, total float64) {
	sorted := slices.Clone(v)
	slices.Sort(sorted)
	sum, cut := 0.0, 0.0
	for i := len(sorted) - 1; i >= 0; i-- {
		sum += sorted[i]
		c := (sum - total) / float64(len(sorted)-i)
		if i == len(sorted)-1 || sorted[i] > c {
			cut = c
		}
	}
	for i := range v {
		v[i] = max(0, v[i]-cut)
	}
}

// alone is the cheapest plan of one stand that pays its shares.
type alone struct {
	cost   []float64 // to go when last changed at l, at index l+1
	choice []int     // its next change, k for none, at index l+1
	next   []float64 // of changing at j: share, change and what follows
	window []int     // boundaries of rising cost, the candidates ahead
}

func newAlone(k int) alone {
	return alone{cost: make([]float64, k+1), choice: make([]int, k+1), next: make([]float64, k), window: make([]int, 0, k)}
}

// solve goes backwards over the last change l. The boundaries (l, reach(l)]
// slide down with l, so their least is kept in a window: linear in k.
func (a *alone) solve(m *model, s int, share []float64) {
	reach, credit := m.reach[s], m.credit[s]
	w := a.window[:0] // the latest boundary first, cost falling towards the end
	head := 0
	for l := m.k - 1; l >= fresh; l-- {
		for head < len(w) && w[head] > int(reach[l+1]) {
			head++
		}
		best, choice := inf, m.k
		if head < len(w) {
			best, choice = a.next[w[head]], w[head]
		}
		if int(reach[l+1]) >= m.k && -credit[l+1] < best {
			best, choice = -credit[l+1], m.k
		}
		a.cost[l+1], a.choice[l+1] = best, choice
		if l == fresh {
			break
		}
		a.next[l] = share[l] + m.change[s] + best
		for len(w) > head && a.next[w[len(w)-1]] >= a.next[l] {
			w = w[:len(w)-1]
		}
		w = append(w, l)
	}
}

func (a *alone) changes() []bool {
	k := len(a.next)
	out := make([]bool, k)
	for j := a.choice[0]; j < k; j = a.choice[j+1] {
		out[j] = true
	}
	return out
}

// rangeMin answers for the least value of a range in constant time: level i
// holds the minima of runs of 2^i values.
type rangeMin [][]float64

func newRangeMin(v []float64) rangeMin {
	r := rangeMin{v}
	for w := 1; 2*w <= len(v); w *= 2 {
		below := r[len(r)-1]
		level := make([]float64, len(v)-2*w+1)
		for i := range level {
			level[i] = min(below[i], below[i+w])
		}
		r = append(r, level)
	}
	return r
}

// min is the least of v[from..to], both included, +Inf when there is none.
func (r rangeMin) min(from, to int) float64 {
	if from > to {
		return inf
	}
	i := bits.Len(uint(to-from+1)) - 1
	return min(r[i][from], r[i][to-(1<<i)+1])
}
