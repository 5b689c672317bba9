package changeplan

import (
	"slices"

	"barrelbook/domain/stop"
)

// tune raises the bound of the whole programme by subgradient steps: where a
// stand alone would change at j its share there rises, at the expense of the
// stands that would not. known is the cost of some plan; it sets the length of
// the steps (Polyak's rule) and ends them when the bound has met it.
func (b *bounds) tune(known float64, steps int, ask stop.Check) error {
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
			if err := ask.Err(); err != nil {
				return err
			}
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
	return nil
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
