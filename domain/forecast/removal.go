package forecast

import (
	"math"
	"slices"
)

// Removal is what a normal cycle takes off a roll as this shop takes it: from
// ground to ground, so that neither the grinder's habit, nor what makes a pair
// equal, nor a figure found that was misread is counted twice or left out.
type Removal struct {
	UM Estimate
	// Between is the spread of the mean from roll to roll.
	Between float64
}

// recentGrinds are those that tell what a grind takes now.
const recentGrinds = 300

// removalOf reads it off normal cycles in order of time. Figures further than four
// robust standard deviations from the median count as if they were there: a slip
// of the hand takes a millimetre off one cycle and gives it to the next.
func removalOf(cycles []*Run) Removal {
	cycles = cycles[max(0, len(cycles)-recentGrinds):]
	took := make([]float64, len(cycles))
	for i, c := range cycles {
		took[i] = c.removed()
	}
	clipped(took)
	byRoll := map[string][]float64{}
	for i, c := range cycles {
		byRoll[c.Roll] = append(byRoll[c.Roll], took[i])
	}
	r := Removal{UM: estimate(took)}
	r.Between = spreadOfMeans(byRoll, r.UM.SD)
	return r
}

// clipped draws what is far from the median in.
func clipped(v []float64) {
	if len(v) == 0 {
		return
	}
	sorted := slices.Sorted(slices.Values(v))
	median := sorted[len(sorted)/2]
	for i, x := range sorted {
		sorted[i] = math.Abs(x - median)
	}
	slices.Sort(sorted)
	far := 4 * 1.4826 * sorted[len(sorted)/2]
	for i, x := range v {
		v[i] = math.Min(math.Max(x, median-far), median+far)
	}
}

// of is what a cycle of one roll takes: its own last cycles, drawn towards its
// sort's as far as rolls are alike.
func (r Removal) of(own []Run) Estimate {
	var took []float64
	for i := len(own) - 1; i >= 0 && len(took) < 10; i-- {
		if own[i].Normal {
			took = append(took, math.Min(math.Max(own[i].removed(), r.UM.Mean-4*r.UM.SD), r.UM.Mean+4*r.UM.SD))
		}
	}
	return shrunk(r.UM, r.Between, took)
}

// shrunk is the mean of one roll's figures drawn towards that of its sort, whose
// means differ by between from roll to roll: the normal model with known variances.
func shrunk(sort Estimate, between float64, own []float64) Estimate {
	e := sort
	n := float64(len(own))
	if n == 0 || between <= 0 || sort.SD <= 0 {
		e.SE = math.Hypot(e.SE, between)
		return e
	}
	noise, prior := n/(sort.SD*sort.SD), 1/(between*between)
	e.Mean = (noise*estimate(own).Mean + prior*sort.Mean) / (noise + prior)
	e.SE = math.Sqrt(1 / (noise + prior))
	return e
}
