package record

import (
	"context"
	"time"

	"barrelbook/api/app/gather"
	"barrelbook/api/app/port"
	"barrelbook/domain/practice"
	"barrelbook/domain/roll"
)

// Fresh says for how long a view of a roll is what would be shown anew: while none
// of the parts it was read from has changed, between two moments, by the same
// rates. Whoever keeps an answer with it asks StillFresh before giving it again.
type Fresh struct {
	parts []port.Part
	stamp string
	// A roll that cools is another one at until. Zero for no bound.
	from, until time.Time
	// rates is the version of the wear rates shown, of a roll in a stand.
	rates  int64
	inside bool // in a stand
}

// freshness is that of a view, nil where it hangs on more than can be asked in one
// statement: on chocks, whose inspections fall due with what other rolls bore.
func (a *Recorder) freshness(r port.Reader, v RollView, shop *gather.Shop, rates int64) (*Fresh, error) {
	s := v.State
	if chocked, err := shop.Chocked(s); err != nil || chocked {
		return nil, err
	}
	f := &Fresh{parts: port.PartsOfRoll(s.Roll.Number), inside: s.Stage == roll.StageMounted}
	if s.Partner != "" {
		f.parts = append(f.parts, port.PartsOfRoll(s.Partner)...)
	}
	if f.inside || s.Roll.Grooved() {
		stays, err := gather.StaysSinceGrind(r, s)
		if err != nil {
			return nil, err
		}
		for _, m := range stays {
			f.parts = append(f.parts, port.PartOfStay(m))
		}
	}
	if f.inside {
		f.rates = rates
	}
	if ready := s.WithdrawnAt.Add(shop.Practice(s).Hours(practice.CoolingH)); shop.Now.Before(ready) {
		f.until = ready
	} else {
		f.from = ready
	}
	var err error
	f.stamp, err = r.Stamp(f.parts)
	return f, err
}

// StillFresh asks, in one statement, whether a view still is what would be shown.
func (a *Recorder) StillFresh(ctx context.Context, f *Fresh) (bool, error) {
	now := a.clock.Now()
	if now.Before(f.from) || !f.until.IsZero() && !now.Before(f.until) {
		return false, nil
	}
	if f.inside {
		if err := a.planner.Learn(ctx); err != nil || a.planner.RatesVersion() != f.rates {
			return false, err
		}
	}
	var stamp string
	err := a.store.Look(ctx, func(r port.Reader) (err error) {
		stamp, err = r.Stamp(f.parts)
		return err
	})
	return err == nil && stamp == f.stamp, err
}
