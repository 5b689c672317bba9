package changeplan

import (
	"fmt"
	"math"
	"strconv"

	"barrelbook/domain/refusal"
)

// maxTotal keeps sums of usage exact when they are multiplied by a rate in
// float64 (2⁵³, the first integer whose successor float64 cannot hold).
const maxTotal = int64(1) << 53

// check refuses everything that makes the question meaningless, every field
// at once. Pieces that fit no fresh set are not refused: they are an answer.
func (p Problem) check() error {
	var c refusal.Check
	if p.Pieces < 1 {
		c.Add("pieces", strconv.Itoa(p.Pieces), "must be at least 1", "load a programme")
	}
	c.NotNegative("stop_cost", p.StopCost)
	c.NotNegative("planned_stop_cost", p.PlannedStopCost)
	for i, b := range p.PlannedStops {
		p.checkBoundary(&c, fmt.Sprintf("planned_stops/%d", i), b)
	}
	if len(p.Stands) == 0 {
		c.Add("stands", "", "must name at least one stand", "")
	}
	first := make(map[string]int, len(p.Stands))
	for i, s := range p.Stands {
		at := fmt.Sprintf("stands/%d", i)
		if s.Name == "" {
			c.Add(at+"/name", "", "must not be empty", "")
		} else if j, again := first[s.Name]; again {
			c.Add(at+"/name", s.Name, fmt.Sprintf("is already the name of stands/%d", j), "name each stand once")
		} else {
			first[s.Name] = i
		}
		p.checkStand(&c, at, s)
	}
	if c.Err() == nil && math.IsInf(p.worst(), 0) {
		c.Add("stands", "", "have costs whose sum is beyond the range of numbers", "use a larger unit of cost")
	}
	return c.Err()
}

func (p Problem) checkStand(c *refusal.Check, at string, s Stand) {
	c.NotNegative(at+"/change_cost", s.ChangeCost)
	c.NotNegative(at+"/unused_cost_per_unit", s.UnusedCostPerUnit)
	c.NotNegative(at+"/end_cost_per_unit", s.EndCostPerUnit)
	p.checkUsage(c, at, Criterion{Limit: s.Limit, StartUsage: s.StartUsage, Usage: s.Usage})
	for i, also := range s.Also {
		p.checkUsage(c, fmt.Sprintf("%s/also/%d", at, i), also)
	}
	if s.Reach != nil {
		p.checkReach(c, at, s.Reach)
	}
	for i, b := range s.MustChange {
		p.checkBoundary(c, fmt.Sprintf("%s/must_change/%d", at, i), b)
	}
}

func (p Problem) checkReach(c *refusal.Check, at string, reach []int) {
	if len(reach) != p.Pieces+1 {
		c.Add(at+"/reach", fmt.Sprintf("has %d numbers", len(reach)), fmt.Sprintf("must have one for the rolls that are in and one for each of the %d pieces", p.Pieces), "")
		return
	}
	for i, r := range reach {
		if r < max(0, i-1) || r > p.Pieces || i > 1 && r < reach[i-1] {
			c.Add(fmt.Sprintf("%s/reach/%d", at, i), strconv.Itoa(r), fmt.Sprintf("must lie between piece %d and %d and not below the one before", max(0, i-1), p.Pieces), "")
			return
		}
	}
}

func (p Problem) checkBoundary(c *refusal.Check, path string, before int) {
	if before < 0 || before >= p.Pieces {
		c.Add(path, strconv.Itoa(before), fmt.Sprintf("must be the number of a piece, from 0 to %d", p.Pieces-1), "")
	}
}

func (p Problem) checkUsage(c *refusal.Check, at string, u Criterion) {
	notNegative := func(path string, v int64) {
		if v < 0 {
			c.Add(path, strconv.FormatInt(v, 10), "must not be below 0", "")
		}
	}
	notNegative(at+"/limit", u.Limit)
	notNegative(at+"/start_usage", u.StartUsage)
	if len(u.Usage) != p.Pieces {
		c.Add(at+"/usage", fmt.Sprintf("has %d numbers", len(u.Usage)), fmt.Sprintf("must have one for each of the %d pieces", p.Pieces), "")
	}
	if u.Limit > maxTotal {
		c.Add(at+"/limit", strconv.FormatInt(u.Limit, 10), fmt.Sprintf("must not exceed %d", maxTotal), "use a larger unit")
	}
	total := u.StartUsage
	for i, v := range u.Usage {
		path := fmt.Sprintf("%s/usage/%d", at, i)
		notNegative(path, v)
		if v > maxTotal || total > maxTotal-v {
			c.Add(path, strconv.FormatInt(v, 10), fmt.Sprintf("takes the sum beyond %d", maxTotal), "use a larger unit")
			return
		}
		total += max(v, 0)
	}
}

// worst is more than any plan can cost: every stand changed before every piece.
func (p Problem) worst() float64 {
	k := float64(p.Pieces)
	sum := k * (p.StopCost + p.PlannedStopCost)
	for _, s := range p.Stands {
		sum += k * (s.ChangeCost + s.UnusedCostPerUnit*float64(s.Limit))
		sum += 2 * (s.EndCostPerUnit + s.UnusedCostPerUnit) * float64(maxTotal)
	}
	return sum
}

// misfits finds, for each stand and criterion, the first piece that alone
// exceeds the limit, and where no set goes on by Reach. Limits that only together
// leave no way on are found by the model.
func (p Problem) misfits() []Misfit {
	var out []Misfit
	for _, s := range p.Stands {
		own := []Criterion{{Limit: s.Limit, Usage: s.Usage}}
		if s.Reach != nil {
			own = nil
			if at, stuck := s.stuck(p.Pieces); stuck {
				out = append(out, Misfit{Stand: s.Name, Piece: at})
			}
		}
		for _, u := range append(own, s.Also...) {
			for k, v := range u.Usage {
				if v > u.Limit {
					out = append(out, Misfit{Stand: s.Name, Criterion: u.Name, Piece: k, Usage: v, Limit: u.Limit})
					break
				}
			}
		}
	}
	return out
}

// stuck is the piece that no set can roll in its turn, going by Reach alone.
func (s *Stand) stuck(pieces int) (piece int, stuck bool) {
	return stuckAt(pieces, func(last int) int {
		next := s.Reach[last+1]
		for _, j := range s.MustChange {
			if j > last {
				next = min(next, j)
			}
		}
		return next
	})
}

// stuckAt follows the changes of a stand that is changed as late as reach lets
// it, and gives the piece at which that goes no further. To change as late as may
// be leaves most, as no later fresh set lasts less far.
func stuckAt(pieces int, reach func(last int) int) (piece int, stuck bool) {
	for last := fresh; ; {
		switch next := reach(last); {
		case next >= pieces:
			return 0, false
		case next == last:
			return next, true
		default:
			last = next
		}
	}
}
