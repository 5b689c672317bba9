package forecast

import (
	"math"
	"slices"
	"time"
)

// Rhythm is how long the cycles of a sort of rolls take as it is now.
type Rhythm struct {
	// Days of the cycles that ended between From and Until, those from a receipt
	// left out: a new roll lies until it is wanted.
	Days        Estimate
	From, Until time.Time
	// Between is the spread of the mean cycle from roll to roll.
	Between float64
	// The parts of these cycles in days, sorted: from the grind until the roll went
	// in, until it came out, until it was ground.
	wait, stay, after []float64
	doubt             [horizons]float64
}

const (
	// recentDays is the time a rhythm is read from, and recentCycles how many mean
	// cycles it is at least: long enough for a mean to 5 %, short enough that the
	// fleet and the order book are those of today. Common practice, no source.
	recentDays   = 42
	recentCycles = 3
	// horizons are 1, 2, 4 … weeks ahead.
	horizons = 8
	// priorPace is how far the mean cycle of a quarter is taken to move against the
	// weeks before it until the shop's own weeks tell, and priorWeeks how many of
	// its own stretches that counts for. Common practice, no source.
	priorPace    = 0.08
	priorStretch = 3
)

// rhythmOf reads the rhythm off cycles in order of their end.
func rhythmOf(cycles []*Run) Rhythm {
	var later []*Run
	for _, c := range cycles {
		if !c.First && c.days() > 0 {
			later = append(later, c)
		}
	}
	if len(later) < enough {
		later = cycles // better than nothing to go by
	}
	if len(later) == 0 {
		return Rhythm{}
	}
	r := Rhythm{Until: later[len(later)-1].At}
	r.recent(later)
	r.doubt = weeksOf(later).doubts()
	return r
}

// recent takes in the cycles of the last weeks, or the last few where there were
// hardly any.
func (r *Rhythm) recent(cycles []*Run) {
	from := len(cycles)
	mean, n := 0.0, 0
	for from > 0 {
		back := r.Until.Sub(cycles[from-1].At).Hours() / 24
		if n >= enough && back > math.Max(recentDays, recentCycles*mean) {
			break
		}
		from--
		n++
		mean += (cycles[from].days() - mean) / float64(n)
	}
	cycles = cycles[from:]
	r.From = cycles[0].At
	days := make([]float64, len(cycles))
	for i, c := range cycles {
		days[i] = c.days()
		if !c.MountedAt.IsZero() && !c.WithdrawnAt.IsZero() {
			r.wait = append(r.wait, dayCount(c.Since, c.MountedAt))
			r.stay = append(r.stay, dayCount(c.MountedAt, c.WithdrawnAt))
			r.after = append(r.after, dayCount(c.WithdrawnAt, c.At))
		}
	}
	r.Days = estimate(days)
	r.Between = between(cycles, r.Days.SD)
	for _, part := range [][]float64{r.wait, r.stay, r.after} {
		slices.Sort(part)
	}
}

func dayCount(from, to time.Time) float64 { return math.Max(0, to.Sub(from).Hours()/24) }

// week is the cycles that ended in it.
type week struct{ sum, square, n float64 }

func (w week) plus(o week) week { return week{w.sum + o.sum, w.square + o.square, w.n + o.n} }

type weekly []week

// weeksOf counts cycles by the week of their end, the last 104 of them.
func weeksOf(cycles []*Run) weekly {
	const most = 104
	last := cycles[len(cycles)-1].At
	span := min(most, int(last.Sub(cycles[0].At).Hours()/168)+1)
	list := make(weekly, span)
	for _, c := range cycles {
		if back := int(last.Sub(c.At).Hours() / 168); back < span {
			d := c.days()
			list[span-1-back] = list[span-1-back].plus(week{d, d * d, 1})
		}
	}
	return list
}

func (w weekly) over(from, to int) (sum week) {
	for _, one := range w[from:to] {
		sum = sum.plus(one)
	}
	return sum
}

// doubts are by how much the mean cycle of the next 1, 2, 4 … weeks differs from
// that of the weeks that a rhythm is read from, as coefficients of variation: the
// root mean square of
//
//	ln(mean of h weeks / mean of the six before)
//
// over the past, less what the scatter of single cycles alone makes of it. Each
// leans on 1.25 times the variance of half as far ahead, as of a pace that wanders and comes back, and
// the first on priorPace.
func (w weekly) doubts() (list [horizons]float64) {
	variance := priorPace * priorPace / 13
	for i := range list {
		h := 1 << i
		if own, stretches := w.moved(h); stretches > 0 {
			variance = (priorStretch*variance + stretches*own) / (priorStretch + stretches)
		}
		list[i] = math.Sqrt(variance)
		if h < 52 { // no pace wanders away for ever
			variance *= 1.25
		}
	}
	return list
}

// moved is the variance of the mean over h weeks against the six before, and how
// many stretches tell it: those that overlap count once.
func (w weekly) moved(h int) (variance, stretches float64) {
	const back = recentDays / 7
	n := 0.0
	for at := back; at+h <= len(w); at++ {
		past, next := w.over(at-back, at), w.over(at, at+h)
		if past.n < enough || next.n < 2 {
			continue
		}
		d := math.Log(next.sum / next.n / (past.sum / past.n))
		variance += d*d - past.noise() - next.noise()
		n++
	}
	if n == 0 {
		return 0, 0
	}
	return math.Max(0, variance/n), n / float64(h)
}

// noise is the variance of the logarithm of a mean.
func (w week) noise() float64 {
	mean := w.sum / w.n
	if mean <= 0 || w.n < 2 {
		return 0
	}
	return math.Max(0, w.square/w.n-mean*mean) / (w.n - 1) / (mean * mean)
}

// doubtAfter is the doubt of the mean cycle over so many days ahead.
func (r *Rhythm) doubtAfter(days float64) float64 {
	at := math.Log2(math.Max(1, days/7))
	i := min(int(at), horizons-1)
	if i == horizons-1 {
		return r.doubt[i]
	}
	return r.doubt[i] + (at-float64(i))*(r.doubt[i+1]-r.doubt[i])
}

// Phase is how far a roll is in its cycle.
type Phase int

// The phases: ground and in the shop, in a stand, out of it and not yet ground.
const (
	Waiting Phase = iota
	Rolling
	Worn
)

// rest is what is left of the present cycle: its mean and variance, for a roll in
// the phase for so many days. ok is false where the phases of past cycles are not
// known.
func (r *Rhythm) rest(p Phase, days float64) (mean, variance float64, ok bool) {
	if len(r.wait) < enough {
		return 0, 0, false
	}
	parts := [][]float64{r.wait, r.stay, r.after}
	mean, variance = beyond(parts[p], days)
	for _, part := range parts[p+1:] {
		e := estimate(part)
		mean, variance = mean+e.Mean, variance+e.SD*e.SD
	}
	return mean, variance, true
}

// beyond is the mean and variance of what is left of a part that has lasted so
// long, from the past ones that lasted longer. Where few did, another like the
// spread of all is taken, as of something that has no memory.
func beyond(sorted []float64, passed float64) (mean, variance float64) {
	from, _ := slices.BinarySearch(sorted, passed)
	longer := sorted[from:]
	if len(longer) < 5 {
		e := estimate(sorted)
		few := math.Max(e.SD, 0.1*e.Mean)
		return few, few * few
	}
	e := estimate(longer)
	return e.Mean - passed, e.SD * e.SD
}
