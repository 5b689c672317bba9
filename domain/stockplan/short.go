package stockplan

import (
	"math"
	"sort"
	"time"

	"gonum.org/v1/gonum/stat/distuv"
)

// defaultShortChance is the level where none is given: common practice, no source.
const defaultShortChance = 0.05

const (
	// dayStep is how close the days are that are looked at.
	dayStep = 3.
	// deliveryCV is what deliveries are late or early by, over their time.
	deliveryCV = 0.1
	// surely is the standard score at which a delivery counts as come: 0.95 have.
	surely = 1.645
	// sharedNodes are the parts in which what dates have in common is taken in.
	sharedNodes = 15
)

// fleet is a group with what it takes to say how likely it is short.
type fleet struct {
	Group
	needed, undated int
	level           float64
	dated           []law
	due             []float64 // days until those on order are to come
	planned         []float64 // days from which a roll counts as come
	nodes           []float64
	often           bool    // that rolls go, against what a delivery is late by
	back            float64 // days that the chance is averaged over
}

// law is the scrap date of a roll in days from now: two halves of a normal that
// meet at the median, of which a share is common to all rolls.
type law struct {
	median, low, up, share float64
}

func newFleet(g Group, in Input) *fleet {
	f := &fleet{Group: g, needed: g.Needed, level: g.ShortChance, back: backDays}
	if f.needed == 0 {
		f.needed = len(g.Rolls)
	}
	if f.level == 0 {
		f.level = defaultShortChance
	}
	until := func(t time.Time) float64 { return t.Sub(in.Now).Hours() / 24 / in.Pace }
	for _, r := range g.Rolls {
		if !r.dated() {
			f.undated++
			continue
		}
		l := law{median: until(r.ScrapP50)}
		const z = 1.2816
		l.low, l.up = math.Max(1e-3, (l.median-until(r.ScrapP10))/z), math.Max(1e-3, (until(r.ScrapP90)-l.median)/z)
		l.share = math.Min(0.98, math.Max(0, r.SharedCV*l.median/((l.low+l.up)/2)))
		f.dated = append(f.dated, l)
	}
	for _, at := range g.Due {
		// What is overdue is taken to come within a month.
		f.due = append(f.due, math.Max(at.Sub(in.Now).Hours()/24, 30*boolTo1(at.Before(in.Now))))
	}
	if n := len(f.dated); n > 1 {
		first, last := f.dated[0].median, f.dated[0].median
		for _, l := range f.dated {
			first, last = math.Min(first, l.median), math.Max(last, l.median)
		}
		gap := (last - first) / float64(n-1)
		f.often = gap < 2*surely*f.lateDays()
		f.back = math.Max(3*dayStep, math.Min(backDays, 3*gap))
	}
	for i := range sharedNodes {
		f.nodes = append(f.nodes, distuv.UnitNormal.Quantile((float64(i)+0.5)/sharedNodes))
	}
	return f
}

func boolTo1(b bool) float64 {
	if b {
		return 1
	}
	return 0
}

// lateDays is the spread of a delivery's days.
func (f *fleet) lateDays() float64 { return deliveryCV * f.DeliveryDays }

// add plans a roll that is needed from a day on, and says for which day it is
// ordered. Where rolls go one after the other within what a delivery is late by, a
// late one is made up for by an early one; where they go seldom each must surely
// come in time.
func (f *fleet) add(day float64) (due float64) {
	if f.often {
		f.due = append(f.due, day)
		return day
	}
	f.planned = append(f.planned, day)
	return day - surely*f.lateDays()
}

// alive is the chance that the roll is there on a day, given what all share.
func (l *law) alive(day, z float64) float64 {
	side := l.up
	if day < l.median {
		side = l.low
	}
	score := (day - l.median) / side
	return distuv.UnitNormal.CDF((l.share*z - score) / math.Sqrt(1-l.share*l.share))
}

// come is the chance that what is due has come by a day.
func (f *fleet) come(due, day float64) float64 {
	sd := f.lateDays()
	if sd <= 0 {
		return boolTo1(day >= due)
	}
	return distuv.UnitNormal.CDF((day - due) / sd)
}

// short is the chance that fewer rolls than needed are there on a day.
func (f *fleet) short(day float64) float64 {
	want := f.needed - f.undated
	if want <= 0 {
		return 0
	}
	come := make([]float64, len(f.due))
	for i, due := range f.due {
		come[i] = f.come(due, day)
	}
	for _, from := range f.planned {
		come = append(come, boolTo1(day >= from))
	}
	sum := 0.0
	there := make([]float64, want)
	for _, z := range f.nodes {
		clear(there)
		there[0] = 1 // chance that so many are there; those beyond want are of no concern
		for i := range f.dated {
			convolve(there, f.dated[i].alive(day, z))
		}
		for _, p := range come {
			convolve(there, p)
		}
		for _, p := range there {
			sum += p / sharedNodes
		}
	}
	return sum
}

// convolve adds one that is there with the chance p.
func convolve(there []float64, p float64) {
	for n := len(there) - 1; n > 0; n-- {
		there[n] = there[n]*(1-p) + there[n-1]*p
	}
	there[0] *= 1 - p
}

// backDays is how long the chance is averaged over at most.
const backDays = 90

// run is the mean chance of being short up to a day, over as long as rolls last from
// one to the next: each that comes brings the chance below what it is on average,
// and the days before it above.
type run struct {
	f         *fleet
	sum, span float64
	until     float64 // the last roll planned may still be on its way
}

// start is the run up to a day.
func (f *fleet) start(day float64) *run {
	r := &run{f: f}
	for t := math.Max(0, day-f.back+dayStep); t < day; t += dayStep {
		r.step(t)
	}
	return r
}

// passes takes another day in and says whether a roll must have come by it: where
// the chance is above the level that day and on average. The one planned last may
// still be on its way for some days; meanwhile another is planned only where the
// chance is far above.
func (r *run) passes(day float64) bool {
	on, mean := r.step(day)
	if day < r.until {
		return on > 3*r.f.level
	}
	return on > r.f.level && mean > r.f.level
}

// planned is told that a roll was planned for a day.
func (r *run) planned(day float64) { r.until = day + r.f.lateDays() }

// step takes another day in and gives the chance on it and the mean.
func (r *run) step(day float64) (on, mean float64) {
	on = r.f.short(day)
	r.sum, r.span = r.sum+on, r.span+1
	if most := r.f.back / dayStep; r.span > most { // what is longer ago counts less
		r.sum *= most / r.span
		r.span = most
	}
	return on, r.sum / r.span
}

// first is the first day up to the one named on which the chance passes the level.
func (f *fleet) first(day float64) float64 {
	for t := 0.0; t < day; t += dayStep {
		if f.short(t) > f.level {
			return t
		}
	}
	return day
}

// dueRolls are the rolls in the order in which they go, those without a date last.
func (f *fleet) dueRolls() []Roll {
	list := make([]Roll, 0, len(f.Rolls))
	for _, r := range f.Rolls {
		if r.dated() {
			list = append(list, r)
		}
	}
	sort.SliceStable(list, func(i, j int) bool { return list[i].ScrapP50.Before(list[j].ScrapP50) })
	return list
}
