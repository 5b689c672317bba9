package life

import "math"

// negligible is the chance of being alive below which a distribution ends.
const negligible = 1e-9

// aliveAfter gives, for n = 0, 1, …, the chance that the stock outlasts n
// campaigns and the roll is not lost in them:
//
//	alive[n] = P(X₁ + … + X_n ≤ stock) · (1 − loss)ⁿ
//
// down to the first negligible one. The law w is nil when X has no gamma part.
func aliveAfter(in Input, x removal, w *law) []float64 {
	alive := []float64{1}
	kept := 1.0
	within := x.within(in.StockMM, w)
	for last := 1.0; alive[len(alive)-1] > negligible && (len(alive) == 1 || !x.watch.Ended()); {
		// Sums grow with n, so rounding must not make the chance rise.
		last = math.Min(last, math.Max(0, within(len(alive))))
		kept *= 1 - in.LossProbability
		alive = append(alive, last*kept)
	}
	return alive
}

// within gives a function for P(S_n ≤ stock), to be called for n = 1, 2, … in turn.
func (x removal) within(stock float64, w *law) func(n int) float64 {
	surely := x.surely(stock)
	if w == nil {
		return func(n int) float64 {
			if n <= surely {
				return 1
			}
			return x.withinClosed(n, stock)
		}
	}
	one := w.campaign(x.ratios)
	sum := make([]complex128, len(one)) // transform of the sum of n campaigns
	top := len(one)
	return func(n int) float64 {
		if n <= surely {
			return 1
		}
		if n == surely+1 {
			for k, phi := range one {
				sum[k] = power(phi, n)
			}
		} else {
			multiply(sum[:top], one[:top])
		}
		// High frequencies die out as sums grow smooth; then they cost nothing.
		for top > 1 && magnitude(sum[top-1]) < 1e-17 {
			top--
		}
		chance := 0.0
		for k, s := range sum[:top] {
			d := w.window[k]
			chance += real(s)*real(d) - imag(s)*imag(d)
		}
		return chance
	}
}

func magnitude(c complex128) float64 { return math.Abs(real(c)) + math.Abs(imag(c)) }

// power is base to the n, n ≥ 0, by squaring.
func power(base complex128, n int) complex128 {
	out := complex(1, 0)
	for ; n > 0; n >>= 1 {
		if n&1 == 1 {
			out *= base
		}
		base *= base
	}
	return out
}

// chances turns the chances of being alive into P(N = n), n = 1, 2, …: the n-th
// campaign is the last when the roll was alive before it and is not after it.
// What is left at the end is put on the last n, so that they add up to 1.
func chances(alive []float64) []float64 {
	p := make([]float64, len(alive)-1)
	for i := range p {
		p[i] = alive[i] - alive[i+1]
	}
	p[len(p)-1] += alive[len(alive)-1]
	return p
}

// campaignQuantile is the smallest n with P(N ≤ n) ≥ q.
func campaignQuantile(p []float64, q float64) float64 {
	sum := 0.0
	for i, c := range p {
		sum += c
		if sum >= q-negligible {
			return float64(i + 1)
		}
	}
	return float64(len(p))
}
