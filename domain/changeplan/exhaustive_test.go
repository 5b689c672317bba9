package changeplan_test

import (
	"math"
	"math/rand/v2"
	"slices"

	"barrelbook/domain/changeplan"
)

// exhaustive tries, before every piece, every subset of the stands, and prices
// each choice directly from the definition of the cost. It shares nothing
// with the planner. Equal situations (same piece, same last changes) are
// computed once; nothing is pruned.
type exhaustive struct {
	p    changeplan.Problem
	memo map[[4]int]float64
}

func cheapest(p changeplan.Problem) float64 {
	e := exhaustive{p: p, memo: map[[4]int]float64{}}
	last := [3]int{-1, -1, -1}
	return e.from(0, last)
}

// usage is what a stand has done before piece j, last changed at l.
func usage(start int64, per []int64, l, j int) int64 {
	sum := start
	if l >= 0 {
		sum = 0
	}
	for i := max(l, 0); i < j; i++ {
		sum += per[i]
	}
	return sum
}

func (e *exhaustive) from(j int, last [3]int) float64 {
	key := [4]int{j, last[0], last[1], last[2]}
	if v, ok := e.memo[key]; ok {
		return v
	}
	best := math.Inf(1)
	if j == e.p.Pieces {
		best = 0
		for i, s := range e.p.Stands {
			best += s.EndCostPerUnit * float64(usage(s.StartUsage, s.Usage, last[i], j))
		}
	} else {
		for set := range 1 << len(e.p.Stands) {
			best = min(best, e.change(j, last, set))
		}
	}
	e.memo[key] = best
	return best
}

// left is what a stand last changed at l has unused before piece j.
func left(s changeplan.Stand, l, j int) int64 {
	unused := s.Limit - usage(s.StartUsage, s.Usage, l, j)
	if s.Reach != nil {
		return unused
	}
	return max(0, unused)
}

// tooFar says whether a stand last changed at l must not roll piece j.
func tooFar(s changeplan.Stand, l, j int) bool {
	if s.Reach != nil {
		return j >= s.Reach[l+1]
	}
	return usage(s.StartUsage, s.Usage, l, j+1) > s.Limit
}

func (e *exhaustive) change(j int, last [3]int, set int) float64 {
	cost := 0.0
	if set != 0 {
		cost = e.p.StopCost
		if slices.Contains(e.p.PlannedStops, j) {
			cost = e.p.PlannedStopCost
		}
	}
	for i, s := range e.p.Stands {
		if set>>i&1 == 1 {
			unused := left(s, last[i], j)
			cost += s.ChangeCost + float64(unused)*s.UnusedCostPerUnit
			last[i] = j
		} else if slices.Contains(s.MustChange, j) {
			return math.Inf(1)
		}
		if tooFar(s, last[i], j) {
			return math.Inf(1)
		}
		for _, c := range s.Also {
			if usage(c.StartUsage, c.Usage, last[i], j+1) > c.Limit {
				return math.Inf(1)
			}
		}
	}
	return cost + e.from(j+1, last)
}

// price checks a plan against the definition and gives its cost, +Inf when it
// passes a limit.
func price(p changeplan.Problem, stops []changeplan.Stop) float64 {
	cost := 0.0
	sets := make([][]string, p.Pieces)
	for _, st := range stops {
		sets[st.BeforePiece] = st.Stands()
		if len(sets[st.BeforePiece]) == 0 {
			return math.Inf(1)
		}
		if slices.Contains(p.PlannedStops, st.BeforePiece) {
			cost += p.PlannedStopCost
		} else {
			cost += p.StopCost
		}
	}
	for _, s := range p.Stands {
		last := -1
		for j := range p.Pieces {
			if slices.Contains(sets[j], s.Name) {
				cost += s.ChangeCost + s.UnusedCostPerUnit*float64(left(s, last, j))
				last = j
			} else if slices.Contains(s.MustChange, j) {
				return math.Inf(1)
			}
			if tooFar(s, last, j) {
				return math.Inf(1)
			}
			for _, c := range s.Also {
				if usage(c.StartUsage, c.Usage, last, j+1) > c.Limit {
					return math.Inf(1)
				}
			}
		}
		cost += s.EndCostPerUnit * float64(usage(s.StartUsage, s.Usage, last, p.Pieces))
	}
	return cost
}

// small draws an instance of up to 3 stands and 14 pieces with every feature
// switched on and off: fractional and zero costs, pieces of no usage, planned
// stops dearer than others, rolls that start beyond their limit, further
// criteria, demanded changes, and pieces that fit no set.
func small(r *rand.Rand) changeplan.Problem {
	p := changeplan.Problem{Pieces: 1 + r.IntN(14), StopCost: cost(r, 40), PlannedStopCost: cost(r, 10)}
	if r.IntN(6) == 0 {
		p.PlannedStopCost = cost(r, 60)
	}
	for range r.IntN(5) {
		p.PlannedStops = append(p.PlannedStops, r.IntN(p.Pieces))
	}
	for _, name := range []string{"F1", "F2", "F3"}[:1+r.IntN(3)] {
		top := int64(1 + r.IntN(9))
		s := changeplan.Stand{Name: name, Limit: top + int64(r.IntN(30)), ChangeCost: cost(r, 15),
			UnusedCostPerUnit: cost(r, 2), EndCostPerUnit: cost(r, 3), Usage: draw(r, p.Pieces, top)}
		if r.IntN(40) == 0 {
			s.Limit = top - 1
		}
		s.StartUsage = r.Int64N(s.Limit + 3)
		if r.IntN(4) == 0 {
			s.Also = append(s.Also, changeplan.Criterion{Name: "fatigue", Limit: 9 + int64(r.IntN(20)),
				StartUsage: int64(r.IntN(9)), Usage: draw(r, p.Pieces, 9)})
		}
		if r.IntN(3) == 0 {
			s.Reach = reaches(r, p.Pieces)
		}
		if r.IntN(6) == 0 {
			s.MustChange = append(s.MustChange, r.IntN(p.Pieces))
		}
		p.Stands = append(p.Stands, s)
	}
	return p
}

// reaches never fall from one fresh set to the next; the rolls that are in last
// as they like. Usage may pass the limit meanwhile, which then only prices.
func reaches(r *rand.Rand, k int) []int {
	reach := []int{r.IntN(k + 1)}
	last := 0
	for l := range k {
		last = min(k, max(last, l+1+r.IntN(5)))
		if r.IntN(60) == 0 && l > 0 {
			last = max(reach[l], l)
		}
		reach = append(reach, last)
	}
	return reach // of k+1 numbers
}

func draw(r *rand.Rand, k int, top int64) []int64 {
	out := make([]int64, k)
	for i := range out {
		out[i] = r.Int64N(top + 1)
	}
	return out
}

// cost is zero, whole or fractional, in equal parts.
func cost(r *rand.Rand, top float64) float64 {
	switch r.IntN(3) {
	case 0:
		return 0
	case 1:
		return math.Floor(r.Float64() * top)
	}
	return r.Float64() * top
}
