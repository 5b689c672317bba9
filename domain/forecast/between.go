package forecast

import (
	"maps"
	"math"
	"slices"
	"time"
)

// Ahead is the programme that a set is about to roll, or is rolling.
type Ahead struct {
	TonnageT, RolledKM float64 // still to come, at the stand
	StartsAt, EndsAt   time.Time
	// Begun is true where pieces of it are rolled: its start is no place for a
	// change any more.
	Begun bool
	// OthersT are the tonnes of programmes as the mill rolls them.
	OthersT []float64
}

// steps is how many programmes on are looked at, sizes how many sizes of them.
const (
	steps = 12
	sizes = 7
)

// between is where the shop changes by habit when it changes between programmes,
// as a set that would not last the next one is not left in:
//
//	it comes out before the first programme with u + P > L
//
// with u what it has rolled and P the programme. The length L that the shop stays
// below is not written down anywhere. Past campaigns fell short of it by what was
// left when the next programme was too long, which for programmes of size P is on
// average E[P²]/2E[P] and varies by E[P³]/3E[P] − its square (the residual of a
// renewal process: Cox, Renewal Theory, 1962, ch. 5, quoted from memory); what past
// lengths vary beyond that is L's own. L is taken as normal and above what has been
// rolled already.
func (in ChangeInput) between(used float64, past []float64, ahead float64, others []float64) []point {
	first, second, third := moments(others)
	if first <= 0 {
		return nil
	}
	e := estimate(past)
	short := second / (2 * first)
	own := math.Sqrt(math.Max(e.SD*e.SD-(third/(3*first)-short*short), 0.02*0.02*e.Mean*e.Mean))
	const parts = 15
	var list []point
	low := cumulative((used - e.Mean - short) / own)
	for i := range parts {
		p := low + (1-low)*(float64(i)+0.5)/parts
		if low > 0.999 {
			p = 0 // longer than it ever was: out it comes
		}
		list = append(list, in.comesOut(used, e.Mean+short+own*quantileOf(p), ahead, others, 1./parts)...)
	}
	return list
}

// comesOut walks over the programmes ahead until one is too long.
func (in ChangeInput) comesOut(used, most, ahead float64, others []float64, weight float64) (list []point) {
	if used+ahead > most && !in.Ahead.Begun {
		return []point{{0, weight}}
	}
	at := map[float64]float64{used + ahead: weight} // by what will have been rolled
	grain := estimate(others).Mean / 10
	for range steps {
		further := map[float64]float64{}
		for _, x := range slices.Sorted(maps.Keys(at)) {
			w := at[x]
			for _, p := range others {
				w := w / float64(len(others))
				if x+p > most {
					list = append(list, point{x - used, w})
				} else {
					further[math.Round((x+p)/grain)*grain] += w
				}
			}
		}
		at = further
	}
	for _, x := range slices.Sorted(maps.Keys(at)) {
		list = append(list, point{x - used, at[x]})
	}
	return list
}

// moments are the first three of the sizes.
func moments(v []float64) (first, second, third float64) {
	n := float64(len(v))
	for _, x := range v {
		first, second, third = first+x/n, second+x*x/n, third+x*x*x/n
	}
	return first, second, third
}

func cumulative(z float64) float64 { return 0.5 * math.Erfc(-z/math.Sqrt2) }

func quantileOf(p float64) float64 {
	return math.Sqrt2 * math.Erfinv(2*math.Min(math.Max(p, 1e-9), 1-1e-9)-1)
}

// thinned is a few of the sizes, evenly over their range.
func thinned(sorted []float64) []float64 {
	if len(sorted) <= sizes {
		return sorted
	}
	list := make([]float64, sizes)
	for i := range list {
		list[i] = sorted[(2*i+1)*len(sorted)/(2*sizes)]
	}
	return list
}
