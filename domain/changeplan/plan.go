package changeplan

import (
	"cmp"
	"math"
	"slices"
	"strconv"

	"barrelbook/domain/refusal"
	"barrelbook/domain/stop"
)

const (
	defaultLabels = 1_000_000
	mostLabels    = 5_000_000
	// A beam of this width gives the first plan; the proof then only looks at
	// partial plans that could still beat it.
	beamWidth = 128
	// Steps for the shares of bounds; the gain levels off near here on
	// trains of 7 to 14 stands and 300 pieces.
	tuneSteps = 400
)

// Plan finds the cheapest plan of changes by label dynamic programming with
// dominance and proves it, or reports the gap where Options.MaxLabels did not
// suffice. The result depends on its arguments alone; where Options.Stop ends it
// there is none, and the error is that of the check.
//
// Refuses, naming every field at fault: an empty programme, stops beyond it,
// stands named twice, usage that is missing, negative or too large, costs
// that are negative or not finite.
//
// Tested equal to exhaustive search on small instances and never worse than
// simpler methods on large ones (plan_test.go, large_test.go).
func Plan(p Problem, o Options) (Result, error) {
	if err := p.check(); err != nil {
		return Result{}, err
	}
	if o.MaxLabels < 0 || o.MaxLabels > mostLabels {
		return Result{}, refusal.One("max_labels", strconv.Itoa(o.MaxLabels), "must lie between 0 and "+strconv.Itoa(mostLabels), "")
	}
	if bad := p.misfits(); len(bad) > 0 {
		return Result{Infeasible: bad}, nil
	}
	budget := o.MaxLabels
	if budget == 0 {
		budget = defaultLabels
	}
	m := newModel(p)
	if bad := m.stuck(); len(bad) > 0 {
		return Result{Infeasible: bad}, nil
	}
	found, err := m.search(min(cmp.Or(o.MaxLabels, defaultLabels), affordable(m.n)), o.Stop)
	if err != nil {
		return Result{}, err
	}
	changes, err := m.later(found.changes, o.Stop)
	if err != nil {
		return Result{}, err
	}
	r := m.result(changes)
	r.Labels = found.labels
	r.Optimal = found.proved >= found.best-m.slack()
	r.LowerBound = r.Cost
	if !r.Optimal {
		r.LowerBound = min(r.Cost, max(0, m.base+found.proved))
		r.Gap = (r.Cost - r.LowerBound) / r.Cost
	}
	return r, nil
}

// found is the best plan of the searches, and what they proved.
type found struct {
	changes      [][]int
	best, proved float64
	labels       int
}

// search runs a quick search for a plan to better, one with a beam, and the
// proof. A search keeps a plan of its own only where it is better than the one
// before; the first always has one. Each is dropped when the next begins: they
// are large.
func (m *model) search(budget int, ask stop.Check) (found, error) {
	f := found{best: inf}
	for _, round := range []struct{ width, budget int }{{1, math.MaxInt}, {beamWidth, budget}, {0, budget}} {
		s := newSearch(m, m.slack(), ask)
		s.best = f.best
		var err error
		if f.proved, err = s.run(round.width, round.budget); err != nil {
			return found{}, err
		}
		if s.final >= 0 {
			f.changes = s.changes()
		}
		f.best = s.best
		f.labels += s.labels.count
		if round.width == 1 {
			if err := m.bound.tune(f.best, tuneSteps, ask); err != nil {
				return found{}, err
			}
		}
	}
	return f, nil
}

// stuck names the pieces that no set can roll in its turn when all limits of a
// stand are taken together: one may force a change to where another lets no
// fresh set go on.
func (m *model) stuck() (bad []Misfit) {
	for k, s := range m.p.Stands {
		if at, is := stuckAt(m.k, func(last int) int { return int(m.reach[k][last+1]) }); is {
			bad = append(bad, Misfit{Stand: s.Name, Piece: at})
		}
	}
	return bad
}

// slack is the difference in cost below which two plans count as equal, so
// that the rounding of sums taken in another order hides no dominance.
func (m *model) slack() float64 {
	largest := m.base
	for s, c := range m.change {
		largest = max(largest, c, m.credit[s][m.k])
	}
	for _, c := range m.stopCost {
		largest = max(largest, c)
	}
	return 1e-12 * largest
}

// changes lists the boundaries at which each stand is changed, ascending.
func (s *search) changes() [][]int {
	out := make([][]int, s.m.n)
	pos := int(s.labels.at(s.final).pos)
	for k, l := range s.lastOf(s.final) {
		if _, change := s.m.ending(k, int(l), pos); change {
			out[k] = append(out[k], pos)
		}
	}
	// A stand that a label has changed at its parent's stop carries that stop
	// as its last change.
	for i := s.final; s.labels.at(i).parent >= 0; i = s.labels.at(i).parent {
		stop := s.labels.at(s.labels.at(i).parent).pos
		for k, l := range s.lastOf(i) {
			if stop != fresh && l == stop {
				out[k] = append(out[k], int(stop))
			}
		}
	}
	for _, c := range out {
		slices.Reverse(c)
	}
	return out
}

// later moves each stop as late as costs no more. Where several stops cost the
// same the search keeps whichever it met first; of these the last is wanted,
// as the rolls that come out have then done most and those that go in have
// most left. A change costs the same wherever it is made and a later last one
// never costs more (see model), so only the cost of the stop is compared. A
// stop that has moved lets those after it, and before it, move further.
func (m *model) later(changes [][]int, ask stop.Check) ([][]int, error) {
	for moved := true; moved; {
		moved = false
		next := m.k // the stop after the one at hand
		for j := m.k - 1; j >= 0; j-- {
			if err := ask.Err(); err != nil {
				return nil, err
			}
			to := m.latest(changes, j, next-1)
			if to < 0 {
				continue
			}
			for _, c := range changes {
				if i := slices.Index(c, j); i >= 0 {
					c[i] = to
				}
			}
			moved = moved || to > j
			next = to
		}
	}
	return changes, nil
}

// latest is the last boundary up to by to which the stop at j can wait at no
// more cost, -1 where nothing is changed at j.
func (m *model) latest(changes [][]int, j, by int) int {
	changed := false
	for k, c := range changes {
		if i := slices.Index(c, j); i >= 0 {
			last := fresh
			if i > 0 {
				last = c[i-1]
			}
			by, changed = min(by, int(m.reach[k][last+1])), true
		}
	}
	if !changed {
		return -1
	}
	for by > j && m.stopCost[by] > m.stopCost[j] {
		by--
	}
	return by
}

// result prices a plan from its changes, part by part as Problem states them.
func (m *model) result(changes [][]int) Result {
	var r Result
	stops := make(map[int]*Stop)
	for k, s := range m.p.Stands {
		used, next := s.StartUsage, 0
		last := fresh
		for j := range m.k {
			if next < len(changes[k]) && changes[k][next] == j {
				c := Change{Stand: s.Name, Usage: used, Unused: s.unused(used), Forced: int(m.reach[k][last+1]) == j}
				unused := s.UnusedCostPerUnit * float64(c.Unused)
				c.Cost = s.ChangeCost + unused
				r.ChangesCost += s.ChangeCost
				r.UnusedCost += unused
				if stops[j] == nil {
					stops[j] = &Stop{BeforePiece: j, Planned: slices.Contains(m.p.PlannedStops, j), Cost: m.stopCost[j]}
				}
				stops[j].Changes = append(stops[j].Changes, c)
				used, last = 0, j
				next++
			}
			used += s.Usage[j]
		}
		r.EndCost += s.EndCostPerUnit * float64(used)
	}
	for j := range m.k {
		if stops[j] != nil {
			r.Stops = append(r.Stops, *stops[j])
			r.StopsCost += stops[j].Cost
		}
	}
	r.Cost = r.StopsCost + r.ChangesCost + r.UnusedCost + r.EndCost
	return r
}

// unused is what is left of the limit. Rolls beyond it leave nothing unused,
// unless their reach is said outright: then the price goes on in proportion.
func (s *Stand) unused(used int64) int64 {
	if s.Reach != nil {
		return s.Limit - used
	}
	return max(0, s.Limit-used)
}
