package forecast

import (
	"math"
	"math/rand/v2"
	"sort"
	"testing"

	"pgregory.net/rapid"
)

// The even moments of a standard normal are 1, 1, 3, 15, 105; a rule of five
// points has them up to the eighth.
func TestHermiteMoments(t *testing.T) {
	for power, want := range map[int]float64{0: 1, 1: 0, 2: 1, 3: 0, 4: 3, 6: 15, 8: 105} {
		sum := 0.0
		for _, h := range hermite {
			sum += h.weight * math.Pow(h.value, float64(power))
		}
		if math.Abs(sum-want) > 1e-12*math.Max(1, want) {
			t.Errorf("moment %d is %.15g, want %g", power, sum, want)
		}
	}
}

func TestFactorsKeepTheMean(t *testing.T) {
	for _, cv := range []float64{0, 0.05, 0.2, 0.4} {
		mean, square := 0.0, 0.0
		for _, f := range factors(cv) {
			mean += f.weight * f.value
			square += f.weight * f.value * f.value
		}
		if math.Abs(mean-1) > 1e-4 || math.Abs(math.Sqrt(square-mean*mean)-cv) > 2e-3*math.Max(cv, 0.01) {
			t.Errorf("cv %g: mean %g, cv %g", cv, mean, math.Sqrt(square-mean*mean))
		}
	}
}

func TestDiscreteQuantilesAreTheSmallest(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		values := rapid.SliceOfN(rapid.Float64Range(0, 100), 1, 60).Draw(t, "values")
		points := make([]point, len(values))
		for i, v := range values {
			points[i] = point{v, 1 / float64(len(values))}
		}
		q := discrete(merged(points))
		sort.Float64s(values)
		for l, got := range q.each() {
			i := int(math.Ceil(levels[l]*float64(len(values))-1e-9)) - 1
			if *got != values[i] {
				t.Fatalf("level %g of %v is %g, want %g", levels[l], values, *got, values[i])
			}
		}
	})
}

// The quantiles of a sum against a million drawn ones, plain and given that it
// passes a bound.
func TestSumsAgainstDrawing(t *testing.T) {
	points := []point{{3, 0.2}, {5, 0.5}, {9, 0.3}}
	e := Estimate{Mean: 10, SD: 4, SE: 1}
	random := rand.New(rand.NewPCG(1, 2))
	drawn := make([]float64, 0, 1_000_000)
	for range cap(drawn) {
		n := points[0].value
		if u := random.Float64(); u > 0.7 {
			n = points[2].value
		} else if u > 0.2 {
			n = points[1].value
		}
		drawn = append(drawn, n*(e.Mean+e.SE*random.NormFloat64())+math.Sqrt(n)*e.SD*random.NormFloat64())
	}
	sort.Float64s(drawn)
	for _, beyond := range []float64{0, 45} {
		q, ok := sums(points, e, beyond)
		if !ok {
			t.Fatal("the condition was dropped")
		}
		start := 0
		if beyond > 0 {
			start = sort.SearchFloat64s(drawn, beyond)
		}
		rest := drawn[start:]
		for l, got := range q.each() {
			want := rest[int(levels[l]*float64(len(rest)))]
			if math.Abs(*got-want) > 0.25 {
				t.Errorf("beyond %g, level %g: %.3f, drawn %.3f", beyond, levels[l], *got, want)
			}
		}
	}
	if _, ok := sums(points, e, 400); ok {
		t.Error("a bound past everything was kept")
	}
}
