package life_test

import (
	"math"
	"math/rand/v2"
	"slices"

	"gonum.org/v1/gonum/stat/distuv"

	"barrelbook/domain/life"
)

// simulate rolls out count lives, one campaign at a time: the straightforward
// way, that shares nothing with the package. It gives campaigns, tonnes and the
// stock taken of every life.
func simulate(in life.Input, count int, seed uint64) (campaigns, tonnes, taken []float64) {
	source := rand.New(rand.NewPCG(seed, 7))
	draw := func(s life.Spread) func() float64 {
		if s.Mean == 0 || s.CV == 0 {
			return func() float64 { return s.Mean }
		}
		shape := 1 / (s.CV * s.CV)
		return distuv.Gamma{Alpha: shape, Beta: shape / s.Mean, Src: source}.Rand
	}
	wear, allowance, load := draw(in.Wear), draw(in.Allowance), draw(in.Tonnes)
	for range count {
		n, total, sum := 0.0, 0.0, 0.0
		for lost := false; sum <= in.StockMM && !lost; n++ {
			t := load()
			w := wear()
			if in.WearFollowsTonnes {
				w *= t / in.Tonnes.Mean
			}
			sum += w + in.FixedAllowanceMM + allowance()
			if source.Float64() < in.Incident.Probability {
				sum += in.Incident.MinimumMM + in.Incident.MeanExcessMM*source.ExpFloat64()
			}
			total += t
			lost = source.Float64() < in.LossProbability
		}
		campaigns, tonnes, taken = append(campaigns, n), append(tonnes, total), append(taken, sum)
	}
	return campaigns, tonnes, taken
}

func mean(v []float64) float64 {
	sum := 0.0
	for _, x := range v {
		sum += x
	}
	return sum / float64(len(v))
}

func deviation(v []float64) float64 {
	m, sum := mean(v), 0.0
	for _, x := range v {
		sum += (x - m) * (x - m)
	}
	return math.Sqrt(sum / float64(len(v)))
}

// shareUpTo gives the share of sorted values at most x.
func shareUpTo(sorted []float64, x float64) float64 {
	i, _ := slices.BinarySearch(sorted, math.Nextafter(x, math.Inf(1)))
	return float64(i) / float64(len(sorted))
}
