package changeplan

import "math/bits"

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
		if l == fresh {
			a.start(m, s)
			break
		}
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
		a.next[l] = share[l] + m.change[s] + best
		for len(w) > head && a.next[w[len(w)-1]] >= a.next[l] {
			w = w[:len(w)-1]
		}
		w = append(w, l)
	}
}

// start is the choice for the rolls that are in, whose reach stands by itself.
func (a *alone) start(m *model, s int) {
	reach := int(m.reach[s][0])
	best, choice := inf, m.k
	for j := range min(reach+1, m.k) {
		if a.next[j] <= best {
			best, choice = a.next[j], j
		}
	}
	if reach >= m.k && -m.credit[s][0] < best {
		best, choice = -m.credit[s][0], m.k
	}
	a.cost[0], a.choice[0] = best, choice
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
