package changeplan

import "math"

// CostWithoutHeadStart runs the search alone: without the beam's plan to prune
// by, so that what it drops it drops by dominance and the normal form.
func CostWithoutHeadStart(p Problem) float64 {
	m := newModel(p)
	s := newSearch(m, m.slack(), nil)
	s.run(0, math.MaxInt)
	return m.result(s.changes()).Cost
}

// RootBound is the lower bound before any search, untuned and tuned.
func RootBound(p Problem) (untuned, tuned float64) {
	m := newModel(p)
	s := newSearch(m, m.slack(), nil)
	untuned = m.base + m.bound.toGo(fresh, s.root())
	s.run(1, math.MaxInt)
	m.bound.tune(s.best, tuneSteps, nil)
	return untuned, m.base + m.bound.toGo(fresh, s.root())
}
