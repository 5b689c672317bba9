package offplan

import (
	"cmp"
	"math"
	"slices"
)

// Expected is what the next programme at a stand will be beside what it says.
type Expected struct {
	// Length and Force are factors on what is planned, that of length with the pieces
	// that will not be rolled.
	Length, Force float64
	// LengthCV and ForceCV are how far a programme lies about that.
	LengthCV, ForceCV float64
	Left              float64 // share of the pieces not rolled
	Campaigns         int     // that it is learned from
}

// Prior is what is believed before any programme: no bias, and these spreads.
type Prior struct{ LengthCV, ForceCV float64 }

// forgets are how much of a campaign's weight is left at the next, to choose from.
var forgets = []float64{0.5, 0.7, 0.85, 0.95, 1}

// What the beliefs count for, in campaigns; common practice, no source.
const (
	noBias      = 1.0  // no bias at all
	priorSpread = 5.0  // the spread of the practice
	ownSpread   = 10.0 // the spread of all stands beside a stand's own
	noneLeft    = 100  // pieces, none of them left
)

// Expect learns from campaigns of one mill, in any order, what is ahead at each of
// its stands. The bias b of a stand after campaigns x₁ … xₙ is
//
//	b = Σ fⁿ⁻ⁱ·xᵢ / (Σ fⁿ⁻ⁱ + 1)
//
// with f the one of five that foretold each campaign from those before it best, over
// all stands: exponential smoothing as in Brown, Smoothing, Forecasting and
// Prediction (1963), from memory, with one campaign's worth of no bias. The spread is
// the root mean square of those misses, a stand's own drawn to that of all and that
// to the practice's.
func Expect(all []Campaign, prior Prior) map[string]Expected {
	sorted := slices.Clone(all)
	slices.SortStableFunc(sorted, func(a, b Campaign) int { return cmp.Or(cmp.Compare(a.Stand, b.Stand), a.At.Compare(b.At)) })
	var names []string
	var lengths, forces [][]float64
	pieces, left := 0, 0
	count := map[string]int{}
	for _, c := range sorted {
		if len(names) == 0 || names[len(names)-1] != c.Stand {
			names, lengths, forces = append(names, c.Stand), append(lengths, nil), append(forces, nil)
		}
		at := len(names) - 1
		lengths[at] = append(lengths[at], c.Length)
		if c.HasForce {
			forces[at] = append(forces[at], c.Force)
		}
		pieces, left = pieces+c.Pieces, left+c.Left
		count[c.Stand]++
	}
	length, lengthCV := smooth(lengths, prior.LengthCV)
	force, forceCV := smooth(forces, prior.ForceCV)
	share := float64(left) / float64(pieces+left+noneLeft)
	out := map[string]Expected{}
	for i, name := range names {
		out[name] = Expected{Length: math.Exp(length[i]) * (1 - share), Force: math.Exp(force[i]), LengthCV: lengthCV[i], ForceCV: forceCV[i], Left: share, Campaigns: count[name]}
	}
	return out
}

// smooth gives the level of each list ahead and how far it will be off.
func smooth(lists [][]float64, prior float64) (levels, spreads []float64) {
	best := math.Inf(1)
	var squares []float64
	for _, f := range forgets {
		sum, now, of := 0.0, make([]float64, len(lists)), make([]float64, len(lists))
		for i, list := range lists {
			now[i], of[i] = level(list, f)
			sum += of[i]
		}
		if sum < best {
			best, levels, squares = sum, now, of
		}
	}
	n := 0.0
	for _, list := range lists {
		n += float64(len(list))
	}
	pooled := (best + priorSpread*prior*prior) / (n + priorSpread)
	spreads = make([]float64, len(lists))
	for i, list := range lists {
		spreads[i] = math.Sqrt((squares[i] + ownSpread*pooled) / (float64(len(list)) + ownSpread))
	}
	return levels, spreads
}

// level is that after a list, and the sum of squares of what each of it was off.
func level(list []float64, f float64) (now, squares float64) {
	sum, weight := 0.0, 0.0
	for _, x := range list {
		off := x - sum/(weight+noBias)
		squares += off * off
		sum, weight = f*sum+x, f*weight+1
	}
	return sum / (weight + noBias), squares
}
