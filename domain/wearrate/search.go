package wearrate

import (
	"math"
	"slices"

	"barrelbook/domain/stop"
)

// search is the state of the repetition.
type search struct {
	cellFit
	points   [][]point
	belief   belief
	starts   [][]float64 // places to climb from, by roll
	weights  [][]float64 // w
	variance []float64   // V
	watch    stop.Watch
}

func newSearch(rolls [][]point, b belief, ask stop.Check) *search {
	s := &search{points: rolls, belief: b, weights: make([][]float64, len(rolls)), variance: make([]float64, len(rolls)), watch: stop.Watch{Check: ask}}
	var residuals, medians []float64
	for i, points := range rolls {
		if s.watch.Ended() {
			return s // fit gives it up
		}
		k := ratioMedian(points)
		medians = append(medians, k)
		s.starts = append(s.starts, ratios(points, 7))
		s.weights[i] = make([]float64, len(points))
		s.rolls = append(s.rolls, rollFit{rate: k, campaigns: len(points)})
		own := make([]float64, len(points))
		for j, p := range points {
			own[j] = math.Abs(p.y - k*p.x)
		}
		slices.Sort(own)
		residuals = append(residuals, own[1:]...) // the smallest was fitted away by the median itself
	}
	s.share = b.share
	s.mean, s.meanSD, s.noise = b.mean, b.meanSD, b.noise
	if n := float64(len(residuals)); n > 0 {
		scale := toSigma * median(residuals)
		s.noise = math.Sqrt((b.campaigns*b.noise*b.noise + n*scale*scale) / (b.campaigns + n))
	}
	s.between = b.rollCV * s.mean
	campaigns := 0
	for _, r := range s.rolls {
		campaigns += r.campaigns
	}
	if m := median(medians); m > least*b.mean && campaigns >= enough {
		s.mean, s.between = m, b.rollCV*m
	} else {
		// So few cannot say where the cell is; let each be held against all that
		// is believed possible, or the only regrind that there is would pass for
		// the rate though it was an incident.
		s.between = math.Hypot(s.between, b.meanSD)
	}
	return s
}

// rates finds the mode of every roll's rate. The mixture may have several: each
// campaign alone against the rest as incidents, or all of them incidents and the
// roll like its cell. The best of those places is climbed.
func (s *search) rates() {
	for i, points := range s.points {
		if s.watch.Ended() {
			return
		}
		k, best := s.mean, s.height(i, s.mean)
		for _, start := range s.starts[i] {
			if h := s.height(i, start); h > best {
				k, best = start, h
			}
		}
		k, s.variance[i] = s.climb(i, k)
		incidents := 0.0
		for _, w := range s.weights[i] {
			incidents += 1 - w
		}
		s.rolls[i] = rollFit{rate: k, campaigns: len(points), incidents: incidents}
	}
}

// climb repeats step from a start to the mode.
func (s *search) climb(i int, k float64) (mode, variance float64) {
	for range 50 {
		if s.watch.Ended() {
			break
		}
		next, v := s.step(i, k)
		if math.Abs(next-k) <= 1e-9*(math.Abs(k)+s.between) {
			return next, v
		}
		k, variance = next, v
	}
	return k, variance
}

// height is the logarithm of the posterior density of roll i's rate at k, up to
// a constant.
func (s *search) height(i int, k float64) float64 {
	z := (k - s.mean) / s.between
	h := -z * z / 2
	odds := s.odds()
	for _, p := range s.points[i] {
		r := (p.y - k*p.x) / s.noise
		h += math.Log(math.Exp(-r*r/2) + odds)
	}
	return h
}

// odds of an incident against a campaign with no residual: p/(1−p) · σ√(2π)/span.
func (s *search) odds() float64 {
	return s.share / (1 - s.share) * s.noise * math.Sqrt(2*math.Pi) / s.belief.span
}

// step weighs roll i's campaigns at the rate k and gives the rate that follows
// from the weights, with its variance.
func (s *search) step(i int, k float64) (next, variance float64) {
	odds := s.odds()
	w := s.weights[i]
	for j, p := range s.points[i] {
		r := (p.y - k*p.x) / s.noise
		e := math.Exp(-r * r / 2)
		w[j] = e / (e + odds)
	}
	own, wxx := slope(s.points[i], w)
	data, prior := wxx/(s.noise*s.noise), 1/(s.between*s.between)
	return (own*data + s.mean*prior) / (data + prior), 1 / (data + prior)
}

// noiseAndShare updates σ and p.
func (s *search) noiseAndShare() {
	b := s.belief
	var squares, free, all float64
	for i, points := range s.points {
		for j, p := range points {
			w, r := s.weights[i][j], p.y-s.rolls[i].rate*p.x
			squares += w * (r*r + p.x*p.x*s.variance[i])
			free += w
			all++
		}
	}
	s.campaigns = free
	s.noise = math.Sqrt((b.campaigns*b.noise*b.noise + squares) / (b.campaigns + free))
	// The belief about incidents is worth twenty campaigns.
	s.share = (20*b.share + all - free) / (20 + all)
}

// spread updates μ and τ.
func (s *search) spread() {
	b := s.belief
	var sum, weight float64
	for i, points := range s.points {
		if own, wxx := slope(points, s.weights[i]); wxx > 0 {
			w := 1 / (s.between*s.between + s.noise*s.noise/wxx)
			sum += w * own
			weight += w
		}
	}
	s.mean, s.meanSD = b.combine(sum, weight, s.campaigns > enough-1)

	squares := 0.0
	for i, r := range s.rolls {
		d := r.rate - s.mean
		// One roll that is unlike all others must not make all of them strangers.
		squares += math.Min(d*d+s.variance[i], 9*s.between*s.between)
	}
	prior := b.rollCV * s.mean
	s.between = math.Sqrt((b.rolls*prior*prior + squares) / (b.rolls + float64(len(s.rolls)) - 1))
}
