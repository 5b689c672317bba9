package record

import (
	"context"
	"time"

	"barrelbook/api/app/gather"
	"barrelbook/api/app/port"
	"barrelbook/domain/next"
	"barrelbook/domain/practice"
	"barrelbook/domain/roll"
)

// Set shows a set. NotFound when there is none of the name.
func (a *Recorder) Set(ctx context.Context, name string) (gather.SetView, error) {
	var v gather.SetView
	if err := a.planner.Learn(ctx); err != nil {
		return v, err
	}
	err := a.store.Read(ctx, func(r port.Reader) error {
		row, err := r.Set(name)
		if err != nil {
			return err
		}
		views, err := a.setViews(r, []port.SetRow{row})
		if err == nil {
			v = views[0]
		}
		return err
	})
	return v, err
}

// setViews joins sets with their rolls and with the limits that those in stands
// are past.
func (a *Recorder) setViews(r port.Reader, rows []port.SetRow) ([]gather.SetView, error) {
	now := a.clock.Now()
	shop, err := gather.OpenShop(r, now)
	if err != nil {
		return nil, err
	}
	views, err := shop.ReadSets(rows, now)
	if err != nil {
		return nil, err
	}
	var states []roll.State
	for _, v := range views {
		states = append(states, v.TopState, v.BottomState)
	}
	borne, err := a.planner.Borne(r, states, shop.Practices)
	if err != nil {
		return nil, err
	}
	for i := range views {
		v := &views[i]
		if v.Stand != "" {
			v.Fitness = borne[v.Top].Over(borne[v.Bottom].Over(v.Fitness))
		}
	}
	return views, nil
}

// Sets lists standing sets by name. With ready only those that could go in now
// are given, so that a page may be shorter than asked for.
func (a *Recorder) Sets(ctx context.Context, f port.SetFilter, ready *bool, p port.Page) (views []gather.SetView, next string, err error) {
	if err := a.planner.Learn(ctx); err != nil {
		return nil, "", err
	}
	err = a.store.Read(ctx, func(r port.Reader) error {
		rows, after, err := r.Sets(f, p)
		if err != nil {
			return err
		}
		all, err := a.setViews(r, rows)
		for _, v := range all {
			if ready == nil || v.Ready() == *ready {
				views = append(views, v)
			}
		}
		next = after
		return err
	})
	return views, next, err
}

// SetInput names two rolls to pair.
type SetInput struct {
	Name   string // empty to have one made
	At     time.Time
	Top    string
	Bottom string
	Note   string
}

// BuildSet pairs two rolls in both books. Conflicting when they cannot be a
// set: one is held, worn, in another set, or the pair is out of tolerance.
func (a *Recorder) BuildSet(ctx context.Context, call port.Call, in SetInput) (gather.SetView, error) {
	return record(ctx, a, call, "built a set of "+in.Top+" and "+in.Bottom, func(w port.Writer, _ time.Time) (gather.SetView, error) {
		at, now, err := a.lockDated(w, in.At, in.Top, in.Bottom)
		if err != nil {
			return gather.SetView{}, err
		}
		top, err := w.Roll(in.Top)
		if err != nil {
			return gather.SetView{}, err
		}
		bottom, err := w.Roll(in.Bottom)
		if err != nil {
			return gather.SetView{}, err
		}
		shop, err := gather.OpenShop(w, now)
		if err != nil {
			return gather.SetView{}, err
		}
		tolerance := shop.Practice(top.State).Micrometres(practice.PairToleranceUM)
		if err := roll.MayPair(top.State, bottom.State, tolerance); err != nil {
			return gather.SetView{}, port.BookError(err)
		}
		row := port.SetRow{Name: in.Name, Role: top.State.Roll.Role, Mill: top.State.Mill, Top: in.Top, Bottom: in.Bottom, BuiltAt: at, Version: 1}
		if row.Name == "" {
			row.Name = a.ids.Name("set")
		}
		if top, err = a.enter(w, top, call, at, now, in.Note, roll.Paired{Set: row.Name, Partner: in.Bottom, Top: true}); err != nil {
			return gather.SetView{}, err
		}
		if bottom, err = a.enter(w, bottom, call, at, now, in.Note, roll.Paired{Set: row.Name, Partner: in.Top}); err != nil {
			return gather.SetView{}, err
		}
		if err := w.CreateSet(row); err != nil {
			return gather.SetView{}, err
		}
		return shop.ViewSet(row, top.State, bottom.State, now)
	})
}

// BreakSet takes a set apart in both books. Stale when call.IfVersion is not
// its version, Conflicting when it is in a stand or already broken.
func (a *Recorder) BreakSet(ctx context.Context, call port.Call, name string, at time.Time, reason string) (gather.SetView, error) {
	return record(ctx, a, call, "broke set "+name, func(w port.Writer, _ time.Time) (gather.SetView, error) {
		row, err := w.Set(name)
		if err != nil {
			return gather.SetView{}, err
		}
		at, now, err := a.lockDated(w, at, row.Top, row.Bottom)
		if err != nil {
			return gather.SetView{}, err
		}
		if row, err = w.Set(name); err != nil {
			return gather.SetView{}, err
		}
		if call.IfVersion != row.Version {
			return gather.SetView{}, port.FailNext(next.ShowSet(name), port.Stale, "set %s has changed since you read it: you have version %d, it is now %d; read it again", name, call.IfVersion, row.Version)
		}
		if !row.BrokenAt.IsZero() {
			return gather.SetView{}, port.Fail(port.Conflicting, "set %s was broken on %s", name, port.Moment(row.BrokenAt))
		}
		states, err := a.enterBoth(w, row, call, at, now, reason, func(bool) roll.Body { return roll.Unpaired{Set: name} })
		if err != nil {
			return gather.SetView{}, err
		}
		row.BrokenAt = at
		if err := w.ReplaceSet(row); err != nil {
			return gather.SetView{}, err
		}
		row.Version++
		shop, err := gather.OpenShop(w, now)
		if err != nil {
			return gather.SetView{}, err
		}
		return shop.ViewSet(row, states[0], states[1], now)
	})
}

// enterBoth writes an entry into the books of both rolls of a set and gives
// their states after it, top first.
func (a *Recorder) enterBoth(w port.Writer, set port.SetRow, call port.Call, at, now time.Time, reason string, body func(top bool) roll.Body) ([2]roll.State, error) {
	var states [2]roll.State
	if err := w.LockRolls([]string{set.Top, set.Bottom}); err != nil {
		return states, err
	}
	for i, number := range []string{set.Top, set.Bottom} {
		row, err := w.Roll(number)
		if err != nil {
			return states, err
		}
		if row, err = a.enter(w, row, call, at, now, reason, body(i == 0)); err != nil {
			return states, err
		}
		states[i] = row.State
	}
	return states, nil
}
