package wearrate

import (
	"cmp"
	"math"
	"slices"
)

// point is one campaign: exposure x in km at 10 kN/mm, wear y in µm.
type point struct{ x, y float64 }

// slope is that of the weighted least-squares line through the origin,
//
//	k = Σ w x y / Σ w x²
//
// with the denominator. Weights nil stand for 1.
func slope(points []point, weights []float64) (k, wxx float64) {
	var wxy float64
	for i, p := range points {
		w := 1.0
		if weights != nil {
			w = weights[i]
		}
		wxy += w * p.x * p.y
		wxx += w * p.x * p.x
	}
	if wxx == 0 {
		return 0, 0
	}
	return wxy / wxx, wxx
}

// weighted is a value with its weight.
type weighted struct{ value, weight float64 }

// weightedMedian is the value with half of the weight on either side, the mean
// of two where the halves meet between them. It sorts its argument.
func weightedMedian(values []weighted) float64 {
	slices.SortFunc(values, func(a, b weighted) int { return cmp.Compare(a.value, b.value) })
	total := 0.0
	for _, v := range values {
		total += v.weight
	}
	sum := 0.0
	for i, v := range values {
		sum += v.weight
		if i+1 < len(values) && math.Abs(sum-total/2) <= 1e-12*total {
			return (v.value + values[i+1].value) / 2
		}
		if sum > total/2 {
			return v.value
		}
	}
	return 0
}

// ratioMedian is the median of y/x weighted by x, a first rate of one roll that
// no single incident among three campaigns can move far.
func ratioMedian(points []point) float64 {
	ratios := make([]weighted, len(points))
	for i, p := range points {
		ratios[i] = weighted{p.y / p.x, p.x}
	}
	return weightedMedian(ratios)
}

// ratios gives y/x of the campaigns in order, at most so many, evenly taken.
func ratios(points []point, most int) []float64 {
	all := make([]float64, len(points))
	for i, p := range points {
		all[i] = p.y / p.x
	}
	slices.Sort(all)
	if len(all) <= most {
		return all
	}
	for i := range most {
		all[i] = all[i*(len(all)-1)/(most-1)]
	}
	return all[:most]
}

// median of plain values.
func median(values []float64) float64 {
	w := make([]weighted, len(values))
	for i, v := range values {
		w[i] = weighted{v, 1}
	}
	return weightedMedian(w)
}

// toSigma turns a median absolute deviation into a normal's standard deviation.
const toSigma = 1.4826
