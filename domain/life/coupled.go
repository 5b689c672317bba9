package life

import (
	"math"
	"math/cmplx"
)

// tonnageRatios are nodes for r = T/mean of a gamma of the CV given, by the
// trapezoid rule in ln r, which converges faster than any power of its step for
// this smooth and quickly falling integrand. Weights add up to 1 and so do
// weights times ratios, so that means stay exact.
//
// Beside the nodes comes the CV that the wear must have at each of them, to
// leave no gaps between neighbours when the wear hardly varies besides: half
// the step. What that adds is taken out again where the variance is set.
func tonnageRatios(tonnesCV, wearCV float64) (nodes []node, smoothedCV float64) {
	shape := 1 / (tonnesCV * tonnesCV)
	step := math.Min(tonnesCV*math.Max(0.3, math.Min(0.7, 2*wearCV/tonnesCV)), 0.35)
	density := func(u float64) float64 { return math.Exp(shape * (u + 1 - math.Exp(u))) }
	const least = 1e-7 // weights, of the greatest
	var total, moment float64
	add := func(u float64) bool {
		n := node{density(u), math.Exp(u)}
		nodes = append(nodes, n)
		total += n.weight
		moment += n.weight * n.ratio
		return n.weight > least
	}
	for u := 0.0; add(u); u += step {
	}
	for u := -step; add(u); u -= step {
	}
	for i := range nodes {
		nodes[i].weight /= total
		nodes[i].ratio *= total / moment
	}
	return nodes, math.Max(wearCV, step/2)
}

// coupledCDF gives P(T ≤ t) of the tonnes T of N campaigns when wear follows
// tonnes, so that a roll that wore out early had rolled much. With
// A_n(ω) = E[exp(iωT_n); alive after n campaigns] and χ(ω) = E exp(iωT₁),
//
//	E exp(iωT) = Σ_n (χ A_n−1 − A_n) = 1 + (χ − 1) Σ_{n≥0} A_n
//
// because the campaign after one that left the roll alive is always rolled. The
// sum over n is a geometric series in the lattice's frequency domain, so one ω
// costs one pass over it. The distribution follows by a Fourier series over an
// interval that holds all but 1e-7 of it.
func (w law) coupledCDF(in Input, x removal, p []float64) func(t float64) float64 {
	mean, cv := in.Tonnes.Mean, in.Tonnes.CV
	fewest, most := campaignQuantile(p, 1e-7), campaignQuantile(p, 1-1e-7)
	low := math.Max(0, fewest-7*cv*math.Sqrt(fewest)) * mean
	// The upper tail of a gamma is heavier than the normal's; 20 cv² makes up for it.
	period := (most+7*cv*math.Sqrt(most)+20*cv*cv)*mean - low
	series := w.characteristic(in, x, 2*math.Pi/period, low)
	return func(t float64) float64 {
		if t <= low {
			return 0
		}
		part := math.Min(1, (t-low)/period)
		sum := part
		for i, c := range series {
			turn := 2 * math.Pi * float64(i+1)
			// ∫ exp(−iωt) from low to t, over the period.
			sum += 2 * real(c*(1-cmplx.Rect(1, -turn*part))/complex(0, turn))
		}
		return sum
	}
}

// characteristic gives E exp(iω(T − from)) at the multiples 1, 2, … of the
// frequency, until what is left cannot move the distribution by 1e-4.
//
// The first campaigns, those that surely leave stock, need no lattice:
// A_n = (kept χ)ⁿ. Only sums of more are taken from it, and they are so smooth
// that few of its frequencies count.
func (w law) characteristic(in Input, x removal, frequency, from float64) []complex128 {
	const most = 300
	kept := complex(1-in.LossProbability, 0)
	sure := x.surely(in.StockMM)
	top := w.bandwidth(x.ratios, sure+1)
	var series []complex128
	cosine, sine := make([]complex128, top), make([]complex128, top)
	for i, small := 1, 0; i <= most && small < 3 && !x.watch.Ended(); i++ {
		omega := frequency * float64(i)
		clear(cosine)
		clear(sine)
		var chi complex128
		for m, n := range x.ratios {
			c := cmplx.Rect(n.weight, omega*n.ratio*in.Tonnes.Mean)
			chi += c
			accumulate(cosine, sine, w.wear[m], c)
		}
		// 1 + q + … + q^sure, by its closed form: where losses end the roll and not
		// its wear, sure is in the millions.
		q := kept * chi
		alive := (1 - power(q, sure+1)) / (1 - q)
		// E[exp(iωT); X] has the transform rest·(cosine + i sine) at a frequency k
		// and the conjugate of rest·(cosine − i sine) at −k.
		for k := range top {
			d, rest := w.window[k]/2, kept*w.rest[k]
			plus := geometric(rest*(cosine[k]+1i*sine[k]), sure+1)
			minus := geometric(rest*(cosine[k]-1i*sine[k]), sure+1)
			alive += d*plus + cmplx.Conj(d*minus)
		}
		value := 1 + (chi-1)*alive
		series = append(series, value*cmplx.Rect(1, -omega*from))
		small++
		if cmplx.Abs(value)/float64(i) > 5e-5 {
			small = 0
		}
	}
	return series
}

// geometric is φⁿ + φⁿ⁺¹ + … = φⁿ/(1 − φ).
func geometric(phi complex128, n int) complex128 { return power(phi, n) / (1 - phi) }

// bandwidth is the number of lattice frequencies at which a sum of n campaigns
// or more still has something, at any ω.
func (w law) bandwidth(ratios []node, n int) int {
	for top := len(w.rest); top > 1; top-- {
		bound := 0.0
		for m, r := range ratios {
			bound += r.weight * cmplx.Abs(w.wear[m][top-1])
		}
		if math.Pow(bound*cmplx.Abs(w.rest[top-1]), float64(n)) > 1e-10 {
			return top
		}
	}
	return 1
}

// accumulate adds real(c)·g to cosine and imag(c)·g to sine.
func accumulate(cosine, sine, g []complex128, c complex128) {
	a, b := real(c), imag(c)
	for k := range cosine {
		x, y := real(g[k]), imag(g[k])
		cosine[k] += complex(a*x, a*y)
		sine[k] += complex(b*x, b*y)
	}
}
