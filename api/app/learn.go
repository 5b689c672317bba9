package app

import (
	"context"
	"sort"
	"sync"
	"sync/atomic"
	"time"

	"barrelbook/domain/forecast"
)

// learner keeps what was read and learned between requests: the regrinds by id
// up to a cut, and the rates in force. Slices are only added to, so that a
// knowledge handed out stays as it is.
type learner struct {
	mu     sync.Mutex
	cut    GrindCut
	rows   []GrindRow
	past   map[string][]GrindRow // the rows by roll
	rates  WearRates
	habits map[course]forecast.Habits // of the cut
	// inForce is rates for those who are in a transaction and must not wait for
	// somebody who learns.
	inForce atomic.Pointer[WearRates]
}

// current is the rates last known, without learning.
func (l *learner) current() WearRates {
	if rates := l.inForce.Load(); rates != nil {
		return *rates
	}
	return WearRates{}
}

func (l *learner) keep(rates WearRates) {
	l.rates = rates
	l.inForce.Store(&rates)
}

// knowledge is what the regrinds teach at one moment.
type knowledge struct {
	rows   []GrindRow
	past   map[string][]GrindRow // by roll, in the order of happening
	rates  WearRates
	habits map[course]forecast.Habits
}

// CurrentWearRates is what the regrinds teach by now. Version 0 before the first.
func (a *App) CurrentWearRates(ctx context.Context) (WearRates, error) {
	k, err := a.known(ctx)
	return k.rates, err
}

// known gives the regrinds and the rates in force, learned again first when
// there are regrinds they do not know: a regrind costs nothing, the next question
// pays. It must not be called inside a transaction.
func (a *App) known(ctx context.Context) (knowledge, error) {
	l := &a.learner
	l.mu.Lock()
	defer l.mu.Unlock()
	const tries = 4
	for try := 1; ; try++ {
		var next *lesson
		err := a.store.Read(ctx, func(r Reader) (err error) {
			next, err = l.study(r, a.clock.Now())
			return err
		})
		if err == nil && next != nil {
			err = a.store.Write(ctx, func(w Writer) error {
				if err := w.CreateWearRates(next.rates); err != nil {
					return err
				}
				return w.KeepForecasts(next.scored)
			})
			if IsKind(err, Conflicting) && try < tries {
				continue // another process has learned the same meanwhile
			}
			if err == nil {
				l.keep(next.rates)
			}
		}
		return knowledge{l.rows, l.past, l.rates, l.habits}, err
	}
}

// refresh reads the regrinds since the last time, or all where some of those
// read have been rewritten.
func (l *learner) refresh(r Reader, c *class) error {
	cut, err := r.GrindCut()
	if err != nil || cut == l.cut {
		return err
	}
	fresh, err := grindsOf(r, GrindFilter{AfterID: l.cut.Newest})
	if err != nil {
		return err
	}
	if l.cut.Count+int64(len(fresh)) == cut.Count {
		l.rows = append(l.rows[:len(l.rows):len(l.rows)], fresh...)
	} else if l.rows, err = grindsOf(r, GrindFilter{}); err != nil {
		return err
	}
	l.cut, l.past, l.habits = cut, byRoll(l.rows), c.habits(l.rows)
	return nil
}

// grindsOf reads all regrinds of a filter, in large pages: there may be tens of
// thousands.
func grindsOf(r Reader, f GrindFilter) ([]GrindRow, error) {
	var all []GrindRow
	for p := (Page{Limit: 5000}); ; {
		rows, next, err := r.Grinds(f, p)
		if err != nil {
			return nil, err
		}
		all = append(all, rows...)
		if next == "" {
			return all, nil
		}
		p.After = next
	}
}

// lesson is a version to be written and how the one before did on the regrinds
// that it did not know.
type lesson struct {
	rates  WearRates
	scored []ForecastRow
}

// fullEvery is how many versions may pass before all is learned anew, because a
// cell learned by itself leans on its grade as that was.
const fullEvery = 20

// study reads what is new and learns it, nil when nothing is.
func (l *learner) study(r Reader, now time.Time) (*lesson, error) {
	cut, err := r.GrindCut()
	if err != nil {
		return nil, err
	}
	if err := l.readRates(r); err != nil || (cut == l.cut && cut == l.rates.Cut) {
		return nil, err
	}
	c, err := newClass(r)
	if err != nil {
		return nil, err
	}
	if err := l.refresh(r, c); err != nil || l.cut == l.rates.Cut {
		return nil, err
	}
	have := l.rates
	first := sort.Search(len(l.rows), func(i int) bool { return l.rows[i].ID > have.Cut.Newest })
	fresh := l.rows[first:]
	next := &lesson{rates: WearRates{Version: have.Version + 1, LearnedAt: now, Cut: l.cut}, scored: c.score(have, fresh)}
	// Fewer than were known means that some were rewritten: their old cells may
	// not be among the new ones.
	if int64(first) != have.Cut.Count || next.rates.Version%fullEvery == 1 {
		err = c.learnAll(l.rows, &next.rates)
	} else {
		err = c.relearn(l.rows, have, fresh, &next.rates)
	}
	for i := range next.scored {
		next.scored[i].AskedAt, next.scored[i].SettledAt = have.LearnedAt, now
	}
	return next, err
}

// readRates reads the version in force where it is not the one held.
func (l *learner) readRates(r Reader) error {
	version, err := r.WearRatesVersion()
	if err != nil || version == l.rates.Version {
		return err
	}
	have, err := r.WearRates()
	if err == nil {
		l.keep(have)
	}
	return err
}
