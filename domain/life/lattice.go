package life

import (
	"math"
	"math/cmplx"

	"gonum.org/v1/gonum/dsp/fourier"
	"gonum.org/v1/gonum/mathext"
)

// lattice carries the law of X on multiples of a step h, in the frequency
// domain, where the law of a sum of n campaigns is a power.
//
// Only sums up to the stock matter, so masses beyond it are dropped. A circular
// transform of length L would fold sums beyond L·h back onto the small ones;
// masses are therefore damped by θ^j with θ^L = 1e-11, which leaves 1e-11 of
// what is folded (Grübel and Hermesmeier, ASTIN Bulletin 29 (1999) 197, quoted
// from memory). Transforms are kept for frequencies 0 … L/2; the rest are
// their conjugates.
type lattice struct {
	step   float64
	size   int
	points int     // lattice points up to the stock
	theta  float64 // damping per step
	// difference is the transform 2 − z − 1/z of minus the second difference,
	// z = θ exp(−2πik/L), and window what turns a law's into P(S ≤ stock).
	difference, window []complex128
	fft                *fourier.FFT
	masses             []float64 // room for one transform
}

// The step is half the standard deviation of the gamma part of X, a quarter where
// a campaign or two use up the stock and no sum smooths what the lattice does to
// one, down to the finest that the greatest transform allows.
const (
	leastSize    = 1 << 10
	greatestSize = 1 << 15
)

func stepsPerDeviation(campaigns float64) float64 {
	return math.Max(2, math.Min(4, 6/math.Sqrt(campaigns)))
}

func newLattice(stock, finest float64) *lattice {
	size := leastSize
	for size < greatestSize && float64(size/2) < stock/finest {
		// 2, 3, 4, 6, 8, 12, …: all quick to transform.
		if size&(size-1) == 0 {
			size += size / 2
		} else {
			size += size / 3
		}
	}
	l := &lattice{size: size, points: size / 2, fft: fourier.NewFFT(size), masses: make([]float64, size)}
	l.step = stock / float64(l.points-4) // differences at the stock look a little past it
	l.theta = math.Exp(math.Log(1e-11) / float64(size))
	l.difference, l.window = make([]complex128, size/2+1), make([]complex128, size/2+1)
	// P(S ≤ s) = Σ_j w_j θ^−j (1/L) Σ_k φ_k exp(2πijk/L): the sum over j of
	// w_j z_k^−j is a geometric series. The last point lies on the stock and
	// counts by half, as a mass spread evenly over its step does, with the next
	// Euler–Maclaurin term, h²/12 of the density's slope, by a difference. The
	// series starts below 0 because the variance correction leaks there.
	const first = -8
	last := float64(l.points - 5)
	start, end := math.Pow(l.theta, -first), math.Pow(l.theta, -last-1)
	for k := range l.window {
		turn := 2 * math.Pi * float64(k) / float64(size)
		z, back := cmplx.Rect(l.theta, -turn), cmplx.Rect(1/l.theta, turn)
		l.difference[k] = 2 - z - back
		from, to := cmplx.Rect(start, turn*first), cmplx.Rect(end, turn*(last+1))
		sum := (to-from)/(back-1) + to*(0.5+(z-back)/24)
		if k > 0 && k < size/2 {
			sum *= 2 // stands for its conjugate too
		}
		l.window[k] = sum / complex(float64(size), 0)
	}
	return l
}

// transform spreads a component of X over the lattice and transforms it. The
// masses keep the mean and, by the correction below, the variance.
//
// limited(x) is E min(Y, x) of the component Y ≥ 0. A mass shared linearly
// between the two neighbours of its place gives
//
//	m_j = (2 E min(Y, jh) − E min(Y, (j−1)h) − E min(Y, (j+1)h)) / h
//
// (method of local moment matching; Klugman, Panjer and Willmot, Loss Models,
// "arithmetic distributions", quoted from memory). It keeps the mean and adds
// up to h²/4, on average h²/6, of variance, which is taken out again by a
// second difference of the same weight.
func (l *lattice) transform(mean, variance float64, limited func(x float64) float64) []complex128 {
	clear(l.masses)
	before, here := 0.0, 0.0
	damping, second, whole := 1.0, 0.0, false
	for j := range l.points {
		after := limited(float64(j+1) * l.step)
		m := (2*here - before - after) / l.step
		if j == 0 {
			m = 1 - after/l.step
		}
		l.masses[j] = m * damping
		second += m * float64(j) * float64(j)
		damping *= l.theta
		if whole = mean-here <= 1e-15*mean; whole {
			break
		}
		before, here = here, after
	}
	added := l.step * l.step / 6
	if whole {
		added = second*l.step*l.step - mean*mean - variance
	}
	coefficients := l.fft.Coefficients(nil, l.masses)
	correction := complex(added/(2*l.step*l.step), 0)
	for k, d := range l.difference {
		coefficients[k] *= 1 + correction*d
	}
	return coefficients
}

// gamma is the transform of a constant plus a gamma of the mean and CV given,
// told to be of the variance given. A constant by itself would lie between two
// points and skew the law; the density of the sum is smooth.
func (l *lattice) gamma(constant, mean, cv, variance float64) []complex128 {
	shape := 1 / (cv * cv)
	scale := mean / shape
	logGamma, _ := math.Lgamma(shape + 1)
	// E min(Y, x) = mean F(shape+1, x) + x (1 − F(shape, x)).
	return l.transform(constant+mean, variance, func(x float64) float64 {
		if x <= constant {
			return x
		}
		x -= constant
		t := x / scale
		f := mathext.GammaIncReg(shape, t)
		next := f - math.Exp(shape*math.Log(t)-t-logGamma)
		return constant + mean*next + x*(1-f)
	})
}

// incident is the transform of the incident part: nothing, or a shifted exponential.
func (l *lattice) incident(in Incident) []complex128 {
	low, excess := in.MinimumMM, in.MeanExcessMM
	out := l.transform(low+excess, excess*excess, func(x float64) float64 {
		if x <= low || excess == 0 {
			return math.Min(x, low)
		}
		return low - excess*math.Expm1(-(x-low)/excess)
	})
	for k := range out {
		out[k] = 1 - complex(in.Probability, 0)*(1-out[k])
	}
	return out
}

// law holds the transforms of one campaign: of everything but the wear, and of
// the wear at each tonnage ratio.
type law struct {
	*lattice
	rest []complex128
	wear [][]complex128
}

func newLaw(x removal, stock float64) law {
	deviation := math.Sqrt(x.wearVariance() + x.allowance.Mean*x.allowance.Mean*x.allowance.CV*x.allowance.CV)
	campaigns := stock / (x.fixed + x.wear.Mean + x.allowance.Mean)
	w := law{lattice: newLattice(stock, deviation/stepsPerDeviation(campaigns))}
	w.rest = make([]complex128, len(w.window))
	for k := range w.rest {
		w.rest[k] = 1
	}
	if x.incident.Probability > 0 {
		multiply(w.rest, w.lattice.incident(x.incident))
	}
	fixed := x.fixed // goes with the first gamma part there is
	if x.allowance.Mean > 0 {
		sd := x.allowance.Mean * x.allowance.CV
		multiply(w.rest, w.gamma(fixed, x.allowance.Mean, x.allowance.CV, sd*sd))
		fixed = 0
	}
	if x.wear.Mean > 0 {
		for _, n := range x.ratios {
			if x.watch.Ended() {
				break
			}
			mean := x.wear.Mean * n.ratio
			w.wear = append(w.wear, w.gamma(fixed, mean, x.smoothedCV, mean*mean*x.wear.CV*x.wear.CV))
		}
	}
	return w
}

// campaign is the transform of X, whatever the tonnage.
func (w law) campaign(ratios []node) []complex128 {
	if len(w.wear) == 0 {
		return w.rest
	}
	out := make([]complex128, len(w.rest))
	for m, g := range w.wear {
		weight := complex(ratios[m].weight, 0)
		for k := range out {
			out[k] += weight * g[k]
		}
	}
	multiply(out, w.rest)
	return out
}

func multiply(dst, by []complex128) {
	for k := range dst {
		dst[k] *= by[k]
	}
}
