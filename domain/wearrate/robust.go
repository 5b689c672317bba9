package wearrate

import (
	"cmp"
	"math"
	"slices"
)

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
