package forecast

import (
	"math"
	"sort"

	"barrelbook/domain/limit"
)

// Quantiles of what is ahead. P5 and P95 bound the interval of 90 %.
type Quantiles struct{ P5, P10, P50, P90, P95, Mean float64 }

var levels = [...]float64{0.05, 0.1, 0.5, 0.9, 0.95}

func (q *Quantiles) each() [len(levels)]*float64 {
	return [...]*float64{&q.P5, &q.P10, &q.P50, &q.P90, &q.P95}
}

// point is one value of a discrete distribution.
type point struct{ value, weight float64 }

// hermite is a standard normal in five points: Gauss and Hermite's rule, exact
// for polynomials of the ninth degree (Abramowitz and Stegun, table 25.10,
// abscissas times √2 and weights over √π, quoted from memory; the moments are
// checked in quantile_test.go).
var hermite = [...]point{
	{-2.856970013872806, 0.011257411327720691},
	{-1.355626179974266, 0.2220759220056126},
	{0, 0.5333333333333333},
	{1.355626179974266, 0.2220759220056126},
	{2.856970013872806, 0.011257411327720691},
}

// factors are a lognormal factor of mean 1 and coefficient of variation cv.
func factors(cv float64) []point {
	if cv <= 0 {
		return []point{{1, 1}}
	}
	s := limit.LogSD(cv)
	list := make([]point, len(hermite))
	for i, h := range hermite {
		list[i] = point{math.Exp(s*h.value - s*s/2), h.weight}
	}
	return list
}

// merged sorts points and joins those of equal value.
func merged(points []point) []point {
	sort.Slice(points, func(i, j int) bool { return points[i].value < points[j].value })
	out := points[:0]
	for _, p := range points {
		if n := len(out); n > 0 && out[n-1].value == p.value {
			out[n-1].weight += p.weight
		} else {
			out = append(out, p)
		}
	}
	return out
}

// discrete reads the quantiles of sorted points: the smallest value at which
// the weights up to it reach the level.
func discrete(points []point) Quantiles {
	var q Quantiles
	total := 0.0
	for _, p := range points {
		total += p.weight
		q.Mean += p.value * p.weight
	}
	if total > 0 {
		q.Mean /= total
	}
	for l, to := range q.each() {
		sum := 0.0
		for _, p := range points {
			*to = p.value
			if sum += p.weight; sum >= levels[l]*total-1e-12 {
				break
			}
		}
	}
	return q
}

// sums reads the quantiles of a sum of N terms, N the points: given N it is
// taken as normal,
//
//	T | N ~ normal(N·mean, N·sd² + N²·se²),  given that T > beyond
//
// with se the standard error of the mean, which all terms share. Where beyond
// leaves next to nothing the condition is dropped and ok is false.
func sums(points []point, e Estimate, beyond float64) (q Quantiles, ok bool) {
	return kernelsOf(points, func(n float64) (mean, variance float64) {
		return n * e.Mean, n*e.SD*e.SD + n*n*e.SE*e.SE
	}).quantiles(beyond)
}

// spans reads the quantiles of the days until the N-th grind from now, N the
// points: what is left of the present cycle and N−1 whole ones,
//
//	T | N ~ normal(r + (N−1)·m, v + (N−1)·sd² + (N−1)²·se² + (T·cv(T))²),  T > 0
//
// with cv(T) how far the rhythm moves in so long a time.
func spans(points []point, e Estimate, rest, variance float64, r *Rhythm) Quantiles {
	q, _ := kernelsOf(points, func(n float64) (float64, float64) {
		n--
		mean := rest + n*e.Mean
		shared := mean * r.doubtAfter(mean)
		return mean, variance + n*e.SD*e.SD + n*n*e.SE*e.SE + shared*shared
	}).quantiles(0)
	return q
}

// quantiles of what is beyond, as sums says.
func (m mix) quantiles(beyond float64) (q Quantiles, ok bool) {
	kernels, total, most := m.kernels, m.total, m.most
	for _, k := range kernels {
		q.Mean += k.mean * k.weight
	}
	if total == 0 {
		return Quantiles{}, false
	}
	q.Mean /= total
	cdf := func(t float64) float64 {
		sum := 0.0
		for _, k := range kernels {
			switch z := (t - k.mean) / k.width; {
			case z > 6:
				sum += k.weight
			case z > -6:
				sum += k.weight * 0.5 * math.Erfc(-z/math.Sqrt2)
			}
		}
		return sum / total
	}
	below := 0.0
	ok = true
	if beyond >= 0 {
		if below = cdf(beyond); below > 0.98 {
			below, beyond, ok = 0, 0, false
		}
	}
	low := math.Max(0, beyond)
	for l, to := range q.each() {
		*to = root(cdf, below+levels[l]*(1-below), low, most)
		low = *to
	}
	return q, ok
}

// kernel is one normal of a mixture.
type kernel struct{ mean, width, weight float64 }

// mix is normals in rising order of their means.
type mix struct {
	kernels     []kernel
	total, most float64
}

// kernelsOf gives the normals of sums, by the mean and variance of so many terms,
// in rising order. Neighbours closer than their width are taken as one of the same
// mean and variance, which changes the mixture by less than a thousandth and takes
// a third of the time.
func kernelsOf(points []point, of func(n float64) (mean, variance float64)) (m mix) {
	var open kernel // width holds the sum of squares about 0 until it is closed
	first := 0.0
	shut := func() {
		if open.weight > 0 {
			open.mean /= open.weight
			open.width = math.Sqrt(math.Max(0, open.width/open.weight-open.mean*open.mean))
			m.most = math.Max(m.most, open.mean+8*open.width)
			m.kernels = append(m.kernels, open)
		}
		open = kernel{}
	}
	for _, p := range points {
		if p.weight < 1e-7 {
			continue
		}
		mean, variance := of(p.value)
		width := math.Max(1e-6*(1+mean), math.Sqrt(variance))
		if mean-first > width {
			shut()
		}
		if open.weight == 0 {
			first = mean
		}
		open.weight += p.weight
		open.mean += p.weight * mean
		open.width += p.weight * (mean*mean + width*width)
		m.total += p.weight
	}
	shut()
	return m
}

// root solves cdf(t) = level for a rising cdf on [low, high] to a hundred-thousandth
// of high by bisection and false position in turn.
func root(cdf func(float64) float64, level, low, high float64) float64 {
	fLow, fHigh := cdf(low)-level, cdf(high)-level
	if fLow >= 0 {
		return low
	}
	if fHigh <= 0 {
		return high
	}
	for i := 0; i < 60 && high-low > 1e-5*high; i++ {
		t := (low + high) / 2
		if i%2 == 0 {
			t = low - fLow*(high-low)/(fHigh-fLow)
		}
		if f := cdf(t) - level; f < 0 {
			low, fLow = t, f
		} else {
			high, fHigh = t, f
		}
	}
	return (low + high) / 2
}
