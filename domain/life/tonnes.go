package life

import (
	"math"

	"gonum.org/v1/gonum/mathext"

	"barrelbook/domain/stop"
)

// tonnesCDF gives P(T ≤ t) of the tonnes T of N campaigns when wear says
// nothing about tonnes: given N = n, T is gamma with n times the shape of one.
//
//	P(T ≤ t) = Σ_n P(N = n) · P(shape·n, t/scale)
func tonnesCDF(p []float64, tonnes Spread, watch *stop.Watch) func(t float64) float64 {
	shape := 1 / (tonnes.CV * tonnes.CV)
	scale := tonnes.Mean / shape
	return func(t float64) float64 {
		sum := 0.0
		for i, c := range p {
			if c < 1e-3*negligible {
				continue
			}
			if watch.Ended() {
				break
			}
			a, x := shape*float64(i+1), t/scale
			switch away := (x - a) / math.Sqrt(a); {
			case away < -9: // a gamma's lower tail is thinner than the normal's
			case away > 60:
				sum += c
			default:
				sum += c * mathext.GammaIncReg(a, x)
			}
		}
		return sum
	}
}

// quantile solves cdf(t) = q for a rising cdf by the Illinois form of the false
// position, from a guess and a first step. Good to 1e-7 of the answer.
func quantile(cdf func(float64) float64, q, guess, step float64) float64 {
	low, high := guess, guess
	fLow := cdf(guess) - q
	fHigh := fLow
	for grow := step; fLow > 0 && low > 0; grow *= 2 {
		high, fHigh = low, fLow
		low = math.Max(0, low-grow)
		fLow = cdf(low) - q
	}
	for grow, tries := step, 0; fHigh < 0 && tries < 60; tries++ {
		low, fLow = high, fHigh
		high += grow
		fHigh = cdf(high) - q
		grow *= 2
	}
	for i, side := 0, 0; i < 100 && high-low > 1e-7*high; i++ {
		t := low - fLow*(high-low)/(fHigh-fLow)
		if !(t > low && t < high) {
			t = (low + high) / 2
		}
		f := cdf(t) - q
		switch {
		case math.Abs(f) < 1e-12:
			return t
		case f < 0:
			low, fLow = t, f
			if side < 0 {
				fHigh /= 2
			}
			side = -1
		default:
			high, fHigh = t, f
			if side > 0 {
				fLow /= 2
			}
			side = 1
		}
	}
	return (low + high) / 2
}
