package wearrate

import (
	"math"

	"barrelbook/domain/stop"
)

// belief is what is known of a cell before its campaigns are read: from its
// grade, or from the defaults. The counts say how many campaigns or rolls a
// figure is worth.
type belief struct {
	mean, meanSD float64 // of the cell's mean rate
	rollCV       float64
	rolls        float64
	noise        float64
	campaigns    float64
	share, span  float64 // of incidents
}

// rollFit is what the fit says of one roll.
type rollFit struct {
	rate, sd  float64
	campaigns int
	incidents float64 // expected number among them
}

// cellFit is what it says of a cell.
type cellFit struct {
	mean, meanSD float64
	between      float64 // standard deviation from roll to roll
	noise        float64
	share        float64
	campaigns    float64 // free of incident, as expected
	residuals    []residual
	rolls        []rollFit
}

// fit estimates the rates of one cell and of each of its rolls. The model:
//
//	y = k_roll · x + ε,  ε normal with sd σ with chance 1 − p, else anything within the span
//	k_roll normal about the cell's μ with sd τ
//
// It starts from robust figures in the usual way (weighted
// medians; scale from absolute residuals without the smallest of each roll) and
// then repeats, to a standstill:
//
//	w_i = chance that campaign i was free of incident, given its residual
//	k   = (Σ w x y/σ² + μ/τ²) / (Σ w x²/σ² + 1/τ²)   per roll, V = 1/(the denominator)
//	σ²  = (ν σ₀² + Σ w (r² + x² V)) / (ν + Σ w)
//	τ²  = (ν (ρμ)² + Σ ((k − μ)² + V)) / (ν + rolls − 1)
//	μ   = mean of the rolls' own slopes weighted by 1/(τ² + σ²/Σ w x²), and of the belief
//
// which is expectation–maximisation for the model with the belief as prior
// (Dempster, Laird and Rubin, J. Roy. Statist. Soc. B 39 (1977) 1; for the
// hierarchy, Gelman et al., Bayesian Data Analysis, ch. 5; both from memory).
// Weights that fall to 0, where Huber's only bound the pull, are what keeps an
// incident of a millimetre from moving a roll with three campaigns.
//
// Points have x > 0, every roll at least one. No accuracy is claimed beyond the
// simulated fleets of fleet_test.go.
func fit(rolls [][]point, b belief, ask stop.Check) (cellFit, error) {
	s := newSearch(rolls, b, ask)
	for range 60 {
		if s.watch.Ended() {
			return cellFit{}, s.watch.Err()
		}
		before := s.cellFit
		s.rates()
		s.noiseAndShare()
		s.spread()
		if close := func(a, b float64) bool { return math.Abs(a-b) <= 1e-5*math.Abs(a) }; close(s.mean, before.mean) &&
			close(s.between, before.between) && close(s.noise, before.noise) {
			break
		}
	}
	s.rates()
	if err := s.watch.Err(); err != nil {
		return cellFit{}, err
	}
	for i := range s.rolls {
		// The cell's mean is not known exactly either; it enters a rate by the
		// share that the roll leans on it.
		lean := s.variance[i] / (s.between * s.between)
		s.rolls[i].sd = math.Sqrt(s.variance[i] + lean*lean*s.meanSD*s.meanSD)
	}
	s.cellFit.residuals = s.residuals(nil)
	return s.cellFit, nil
}

// combine joins the rolls' weighted sum of slopes with the believed mean, unless
// enough of them contradict it by more than three standard deviations: a belief
// that is refuted must not pull.
func (b belief) combine(sum, weight float64, enough bool) (mean, sd float64) {
	prior := 1 / (b.meanSD * b.meanSD)
	mean, sd = (sum+b.mean*prior)/(weight+prior), 1/math.Sqrt(weight+prior)
	if enough && weight > 0 && math.Abs(sum/weight-b.mean) > 3*math.Sqrt(1/weight+1/prior) && sum > 0 {
		mean, sd = sum/weight, 1/math.Sqrt(weight)
	}
	return math.Max(mean, least*b.mean), sd
}

const (
	// enough campaigns to refute a belief about the cell's mean.
	enough = 3
	// least share of the believed mean that a cell's may be: a rate is above 0
	// however little the cell has rolled.
	least = 0.01
)
