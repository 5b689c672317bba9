package app

import (
	"context"
	"time"

	"barrelbook/domain/practice"
	"barrelbook/domain/quantity"
	"barrelbook/domain/roll"
)

// SetView is a set with its two rolls as they are now.
type SetView struct {
	SetRow
	TopState    roll.State
	BottomState roll.State
	Mismatch    quantity.Micrometre
	Tolerance   quantity.Micrometre
	Fitness     roll.Fitness // of both together
}

// Ready says whether the set could be mounted now.
func (v SetView) Ready() bool {
	return v.BrokenAt.IsZero() && v.Stand == "" && v.Fitness.Verdict == roll.Fit
}

func setView(row SetRow, top, bottom roll.State, practices []practice.Practice, now time.Time) SetView {
	p := practice.Resolve(practices, caseOf(top))
	v := SetView{SetRow: row, TopState: top, BottomState: bottom, Mismatch: roll.Mismatch(top, bottom), Tolerance: p.Micrometres(practice.PairToleranceUM)}
	if !row.BrokenAt.IsZero() {
		v.Fitness = roll.Fitness{Verdict: roll.NotFit, Reasons: []string{"the set was broken"}}
		return v
	}
	v.Fitness = bothFit(roll.Assess(top, &bottom, p, now), roll.Assess(bottom, &top, practice.Resolve(practices, caseOf(bottom)), now), top, bottom)
	return v
}

// bothFit joins the fitness of two rolls: the worse verdict rules.
func bothFit(a, b roll.Fitness, top, bottom roll.State) roll.Fitness {
	rank := map[roll.Verdict]int{roll.Fit: 0, roll.FitnessUnknown: 1, roll.NotFit: 2}
	joined := roll.Fitness{Verdict: a.Verdict}
	if rank[b.Verdict] > rank[a.Verdict] {
		joined.Verdict = b.Verdict
	}
	for _, one := range []struct {
		number string
		f      roll.Fitness
	}{{top.Roll.Number, a}, {bottom.Roll.Number, b}} {
		for _, reason := range one.f.Reasons {
			joined.Reasons = append(joined.Reasons, one.number+": "+reason)
		}
		for _, step := range one.f.Next {
			step.Do = one.number + ": " + step.Do
			joined.Next = append(joined.Next, step)
		}
	}
	return joined
}

// Set shows a set. NotFound when there is none of the name.
func (a *App) Set(ctx context.Context, name string) (SetView, error) {
	var v SetView
	err := a.store.Read(ctx, func(r Reader) error {
		row, err := r.Set(name)
		if err != nil {
			return err
		}
		v, err = a.readSet(r, row)
		return err
	})
	return v, err
}

func (a *App) readSet(r Reader, row SetRow) (SetView, error) {
	practices, err := allPractices(r)
	if err != nil {
		return SetView{}, err
	}
	views, err := a.readSets(r, []SetRow{row}, practices)
	if err != nil {
		return SetView{}, err
	}
	return views[0], nil
}

// readSets joins sets with their rolls in one read.
func (a *App) readSets(r Reader, rows []SetRow, practices []practice.Practice) ([]SetView, error) {
	var numbers []string
	for _, row := range rows {
		numbers = append(numbers, row.Top, row.Bottom)
	}
	states, err := statesOf(r, numbers)
	if err != nil {
		return nil, err
	}
	views := make([]SetView, len(rows))
	for i, row := range rows {
		views[i] = setView(row, *states[row.Top], *states[row.Bottom], practices, a.clock.Now())
	}
	return views, nil
}

// Sets lists standing sets by name. With ready only those that could go in now
// are given, so that a page may be shorter than asked for.
func (a *App) Sets(ctx context.Context, f SetFilter, ready *bool, p Page) (views []SetView, next string, err error) {
	err = a.store.Read(ctx, func(r Reader) error {
		rows, after, err := r.Sets(f, p)
		if err != nil {
			return err
		}
		practices, err := allPractices(r)
		if err != nil {
			return err
		}
		all, err := a.readSets(r, rows, practices)
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
func (a *App) BuildSet(ctx context.Context, call Call, in SetInput) (SetView, error) {
	return record(ctx, a, call, "built a set of "+in.Top+" and "+in.Bottom, func(w Writer, now time.Time) (SetView, error) {
		at, err := happened(in.At, now)
		if err != nil {
			return SetView{}, err
		}
		if err := w.LockRolls([]string{in.Top, in.Bottom}); err != nil {
			return SetView{}, err
		}
		top, err := w.Roll(in.Top)
		if err != nil {
			return SetView{}, err
		}
		bottom, err := w.Roll(in.Bottom)
		if err != nil {
			return SetView{}, err
		}
		practices, err := allPractices(w)
		if err != nil {
			return SetView{}, err
		}
		tolerance := practice.Resolve(practices, caseOf(top.State)).Micrometres(practice.PairToleranceUM)
		if err := roll.MayPair(top.State, bottom.State, tolerance); err != nil {
			return SetView{}, bookError(err)
		}
		row := SetRow{Name: in.Name, Role: top.State.Roll.Role, Mill: top.State.Mill, Top: in.Top, Bottom: in.Bottom, BuiltAt: at, Version: 1}
		if row.Name == "" {
			row.Name = a.ids.Name("set")
		}
		if top, err = a.enter(w, top, call, at, now, in.Note, roll.Paired{Set: row.Name, Partner: in.Bottom, Top: true}); err != nil {
			return SetView{}, err
		}
		if bottom, err = a.enter(w, bottom, call, at, now, in.Note, roll.Paired{Set: row.Name, Partner: in.Top}); err != nil {
			return SetView{}, err
		}
		if err := w.CreateSet(row); err != nil {
			return SetView{}, err
		}
		return setView(row, top.State, bottom.State, practices, now), nil
	})
}

// BreakSet takes a set apart in both books. Stale when call.IfVersion is not
// its version, Conflicting when it is in a stand or already broken.
func (a *App) BreakSet(ctx context.Context, call Call, name string, at time.Time, reason string) (SetView, error) {
	return record(ctx, a, call, "broke set "+name, func(w Writer, now time.Time) (SetView, error) {
		at, err := happened(at, now)
		if err != nil {
			return SetView{}, err
		}
		row, err := w.Set(name)
		if err != nil {
			return SetView{}, err
		}
		if call.IfVersion != row.Version {
			return SetView{}, fail(Stale, "set %s has changed since you read it: you have version %d, it is now %d; read it again: barrelbook set show %s", name, call.IfVersion, row.Version, name)
		}
		if !row.BrokenAt.IsZero() {
			return SetView{}, fail(Conflicting, "set %s was broken on %s", name, moment(row.BrokenAt))
		}
		states, err := a.enterBoth(w, row, call, at, now, reason, func(bool) roll.Body { return roll.Unpaired{Set: name} })
		if err != nil {
			return SetView{}, err
		}
		row.BrokenAt = at
		if err := w.ReplaceSet(row); err != nil {
			return SetView{}, err
		}
		row.Version++
		return setView(row, states[0], states[1], nil, now), nil
	})
}

// enterBoth writes an entry into the books of both rolls of a set and gives
// their states after it, top first.
func (a *App) enterBoth(w Writer, set SetRow, call Call, at, now time.Time, reason string, body func(top bool) roll.Body) ([2]roll.State, error) {
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
