// Package learn learns wear rates and habits from the regrinds, and scores what was
// forecast against what came of it.
package learn

import (
	"context"
	"maps"
	"slices"
	"sort"
	"sync"
	"sync/atomic"
	"time"

	"barrelbook/api/app/port"
	"barrelbook/domain/forecast"
	"barrelbook/domain/score"
)

// Learner learns from the regrinds and scores what was forecast. It keeps what
// was read and learned between requests: the regrinds by id up to a cut, and the rates in force. Slices are only added to, so that a
// knowledge handed out stays as it is.
type Learner struct {
	store port.Store
	clock port.Clock

	mu     sync.Mutex
	cut    port.GrindCut
	rows   []port.GrindRow
	past   map[string][]port.GrindRow // the rows by roll
	rates  port.WearRates
	models models // of the regrinds up to taught
	taught map[string][]port.GrindRow
	habits map[RateGroup]forecast.Habits // of the cut

	lately *lately
	// changed are the rolls with regrinds that the models do not know; where rewritten is
	// true those of any roll may be other ones.
	changed   map[string]bool
	rewritten bool

	rollCut  port.RollCut
	presence map[string]presence
	turns    Turns
	// inForce is rates for those who are in a transaction and must not wait for
	// somebody who learns.
	inForce atomic.Pointer[port.WearRates]

	// programmes are those compared with what was rolled of them.
	programmes struct {
		sync.Mutex
		of map[string]compared
	}
	// calibrated is what was last learned of answers about finishing.
	calibrated struct {
		sync.Mutex
		at    time.Time
		value score.Recalibration
	}
}

// NewLearner wires the room.
func NewLearner(store port.Store, clock port.Clock) *Learner {
	l := &Learner{store: store, clock: clock}
	l.programmes.of = map[string]compared{}
	return l
}

// Current is the rates last known, without learning.
func (l *Learner) Current() port.WearRates {
	if rates := l.inForce.Load(); rates != nil {
		return *rates
	}
	return port.WearRates{}
}

// InForce is Current for a process that has not learned yet: the rates that were
// kept last, without learning. It may be called inside a transaction.
func (l *Learner) InForce(r port.Reader) (port.WearRates, error) {
	if rates := l.inForce.Load(); rates != nil {
		return *rates, nil
	}
	if version, err := r.WearRatesVersion(); err != nil || version == 0 {
		return port.WearRates{}, err
	}
	rates, err := r.WearRates()
	if err == nil {
		l.inForce.CompareAndSwap(nil, &rates)
	}
	return rates, err
}

// KnownIn is what the regrinds as a reader has them teach, at the rates in force
// there and without learning: a writer sees what it has changed. It reads all
// regrinds.
func (l *Learner) KnownIn(r port.Reader) (Knowledge, error) {
	c, err := NewBasis(r)
	if err != nil {
		return Knowledge{}, err
	}
	rows, err := GrindsOf(r, port.GrindFilter{})
	if err != nil {
		return Knowledge{}, err
	}
	rates, err := l.InForce(r)
	return Knowledge{Rows: rows, Past: byRoll(rows), Rates: rates, Habits: c.Habits(rows)}, err
}

func (l *Learner) hold(rates port.WearRates) {
	l.rates = rates
	l.inForce.Store(&rates)
}

// Knowledge is what the regrinds teach at one moment.
type Knowledge struct {
	Rows   []port.GrindRow
	Past   map[string][]port.GrindRow // by roll, in the order of happening
	Rates  port.WearRates
	Habits map[RateGroup]forecast.Habits
	Turns  Turns
}

// CurrentWearRates is what the regrinds teach by now. Version 0 before the first.
func (l *Learner) CurrentWearRates(ctx context.Context) (port.WearRates, error) {
	k, err := l.Known(ctx)
	return k.Rates, err
}

// Known gives the regrinds and the rates in force, learned again first when
// there are regrinds they do not know: a regrind costs nothing, the next question
// pays. It must not be called inside a transaction.
func (l *Learner) Known(ctx context.Context) (Knowledge, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	const tries = 4
	for try := 1; ; try++ {
		var next *rateUpdate
		err := l.store.Read(ctx, func(r port.Reader) (err error) {
			next, err = l.study(r, l.clock.Now())
			return err
		})
		if err == nil && next != nil {
			err = l.store.Write(ctx, func(w port.Writer) error {
				if err := w.CreateWearRates(next.rates); err != nil {
					return err
				}
				return w.KeepForecasts(next.scored)
			})
			if port.IsKind(err, port.Conflicting) && try < tries {
				continue // another process has learned the same meanwhile
			}
			if err == nil {
				l.hold(next.rates)
			}
		}
		return Knowledge{l.rows, l.past, l.rates, l.habits, l.turns}, err
	}
}

// refresh reads the regrinds since the last time, or all where some of those
// read have been rewritten. Of a works of a million regrinds it touches what the
// fresh ones tell of: their rolls, and the habits of their sorts.
func (l *Learner) refresh(r port.Reader, c *Basis) error {
	cut, err := r.GrindCut()
	if err != nil || cut == l.cut {
		return err
	}
	fresh, err := GrindsOf(r, port.GrindFilter{AfterID: l.cut.Newest})
	if err != nil {
		return err
	}
	if l.past != nil && l.cut.Count+int64(len(fresh)) == cut.Count {
		l.rows = append(l.rows, fresh...) // beyond what a knowledge handed out sees
		l.past = withRows(l.past, fresh)
		l.lately.add(c, fresh, l.past)
	} else {
		if l.rows, err = GrindsOf(r, port.GrindFilter{}); err != nil {
			return err
		}
		l.past, l.lately, l.rewritten = byRoll(l.rows), newLately(), true
		l.lately.add(c, l.rows, l.past)
		fresh = nil
	}
	if l.changed == nil {
		l.changed = map[string]bool{}
	}
	for _, g := range fresh {
		l.changed[g.Roll] = true
	}
	l.cut, l.habits = cut, l.lately.habits(c, l.habits)
	return nil
}

// withRows is the past with more regrinds; the one before stays as it is.
func withRows(past map[string][]port.GrindRow, fresh []port.GrindRow) map[string][]port.GrindRow {
	out := maps.Clone(past)
	for _, g := range fresh {
		out[g.Roll] = inserted(slices.Clone(out[g.Roll]), g)
	}
	return out
}

// GrindsOf reads all regrinds of a filter, in large pages: there may be tens of
// thousands.
func GrindsOf(r port.Reader, f port.GrindFilter) ([]port.GrindRow, error) {
	var all []port.GrindRow
	for p := (port.Page{Limit: 5000}); ; {
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

// rateUpdate is a version to be written and how the one before did on the regrinds
// that it did not know.
type rateUpdate struct {
	rates  port.WearRates
	scored []port.ForecastRow
	// spreads are those of the next version.
	spreads map[RateGroup]score.Spread
}

// study reads what is new and learns it, nil when nothing is.
func (l *Learner) study(r port.Reader, now time.Time) (*rateUpdate, error) {
	cut, err := r.GrindCut()
	if err != nil {
		return nil, err
	}
	if err := l.readRates(r); err != nil {
		return nil, err
	}
	if cut == l.cut && cut == l.rates.Cut {
		return nil, l.readTurns(r, false)
	}
	c, err := NewBasis(r)
	if err != nil {
		return nil, err
	}
	if err := l.refresh(r, c); err != nil {
		return nil, err
	}
	if err := l.readTurns(r, true); err != nil || l.cut == l.rates.Cut {
		return nil, err
	}
	have := l.rates
	first := sort.Search(len(l.rows), func(i int) bool { return l.rows[i].ID > have.Cut.Newest })
	fresh := l.rows[first:]
	next := &rateUpdate{rates: port.WearRates{Version: have.Version + 1, LearnedAt: now, Cut: l.cut}}
	next.scored, next.spreads = c.score(have, fresh, l.rows)
	if err := l.teach(c, have, next); err != nil {
		return nil, err
	}
	for i := range next.scored {
		next.scored[i].AskedAt, next.scored[i].SettledAt = have.LearnedAt, now
	}
	return next, nil
}

// teach brings the models in line with the rows and reads the rates out of them.
func (l *Learner) teach(c *Basis, have port.WearRates, next *rateUpdate) (err error) {
	stands, whole := map[string]bool{}, l.models == nil
	if whole {
		l.models, err = c.learnAll(l.rows)
	} else {
		changed := map[string][]port.GrindRow{}
		if !l.rewritten {
			for roll := range l.changed {
				changed[roll] = l.past[roll]
			}
		} else {
			changed = differing(l.taught, l.past)
		}
		stands, whole, err = c.replace(l.models, changed, func() []port.GrindRow { return l.rows })
	}
	if err != nil {
		l.models = nil // half of it may have been taken in
		return err
	}
	l.taught, l.changed, l.rewritten = l.past, map[string]bool{}, false
	l.models.read(have, next.spreads, stands, whole, &next.rates)
	return nil
}

// differing are the rolls whose regrinds are not the same, as they are now.
func differing(was, now map[string][]port.GrindRow) map[string][]port.GrindRow {
	changed := map[string][]port.GrindRow{}
	for roll, list := range now {
		if !slices.EqualFunc(list, was[roll], sameRegrind) {
			changed[roll] = list
		}
	}
	for roll := range was {
		if now[roll] == nil {
			changed[roll] = nil
		}
	}
	return changed
}

func sameRegrind(a, b port.GrindRow) bool { return a.ID == b.ID }

// readRates reads the version in force where it is not the one held.
func (l *Learner) readRates(r port.Reader) error {
	version, err := r.WearRatesVersion()
	if err != nil || version == l.rates.Version {
		return err
	}
	have, err := r.WearRates()
	if err == nil {
		l.hold(have)
	}
	return err
}

// byRoll sorts regrinds by roll. Within a roll ids follow the order of happening:
// rewritten ones are all written anew, but for those a late piece renewed.
func byRoll(rows []port.GrindRow) map[string][]port.GrindRow {
	past := map[string][]port.GrindRow{}
	for _, g := range rows {
		past[g.Roll] = inserted(past[g.Roll], g)
	}
	return past
}

// inserted is the list with a regrind in its place.
func inserted(list []port.GrindRow, g port.GrindRow) []port.GrindRow {
	i := len(list)
	for i > 0 && list[i-1].At.After(g.At) {
		i--
	}
	return slices.Insert(list, i, g)
}
