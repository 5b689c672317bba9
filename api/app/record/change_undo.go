package record

import (
	"cmp"
	"context"
	"slices"
	"time"

	"barrelbook/api/app/caution"
	"barrelbook/api/app/gather"
	"barrelbook/api/app/port"
	"barrelbook/domain/chock"
	"barrelbook/domain/duty"
	"barrelbook/domain/mill"
	"barrelbook/domain/next"
	"barrelbook/domain/roll"
)

// UndoChange takes a roll change that was recorded wrongly out of the books of
// all its rolls again, by corrections: what came out was in as if it had not come
// out then, what went in never went, and what was rolled since is booked on those
// that were in. The change stays in the register, marked. NotFound when there is
// none of the name; Conflicting when the books of its rolls rest on it.
func (a *Recorder) UndoChange(ctx context.Context, call port.Call, name, reason string) (ChangeView, error) {
	return record(ctx, a, call, "undid roll change "+name, func(w port.Writer, _ time.Time) (ChangeView, error) {
		u, err := a.onChange(w, call, name, reason)
		if err != nil {
			return ChangeView{}, err
		}
		if err := u.mayUndo(); err != nil {
			return ChangeView{}, err
		}
		u.view.UndoneAt, u.view.UndoneBy, u.view.UndoneWhy = u.now, call.Actor, reason
		return u.view, u.undo()
	})
}

// onChange reads a change that stands and the one after it.
func (a *Recorder) onChange(w port.Writer, call port.Call, name, reason string) (*correcting, error) {
	change, err := w.Change(name)
	if err != nil {
		return nil, err
	}
	if err := w.LockStands([]string{change.Stand}); err != nil {
		return nil, err
	}
	if change, err = w.Change(name); err != nil {
		return nil, err
	}
	if !change.UndoneAt.IsZero() {
		return nil, port.Fail(port.Conflicting, "roll change %s was undone on %s by %s: %s", change.Name, port.Moment(change.UndoneAt), change.UndoneBy, change.UndoneWhy)
	}
	_, now, err := a.dated(w, time.Time{}, change.At)
	if err != nil {
		return nil, err
	}
	u := &correcting{app: a, w: w, call: call, now: now, reason: reason, view: ChangeView{ChangeRow: change, Cautions: []string{caution.Limits, caution.Stand}}}
	if u.stand, err = w.Stand(change.Stand); err != nil {
		return nil, err
	}
	after, err := changesSince(w, change.Stand, change.Role, change.At.Add(time.Microsecond))
	if len(after) > 0 {
		u.next = after[0]
	}
	return u, err
}

// correcting is the work on a change that is in the books.
type correcting struct {
	app     *Recorder
	w       port.Writer
	call    port.Call
	now     time.Time
	reason  string
	stand   mill.Stand
	next    port.ChangeRow // without a name where there is none
	view    ChangeView
	setsOut []port.SetRow // none or one
	setsIn  []port.SetRow
}

// mayUndo refuses where the change after it would make no sense without it.
func (u *correcting) mayUndo() error {
	if u.next.Name != "" && u.next.SetIn == u.view.SetOut {
		return port.FailNext(next.UndoChange(u.next.Name), port.Conflicting, "the %s rolls of %s were changed back on %s, which rests on this change; undo that change first",
			u.view.Role, u.view.Stand, port.Moment(u.next.At))
	}
	return nil
}

// sets reads the sets of the change, and gives their rolls, top first.
func (u *correcting) sets() (out, in []string, err error) {
	for _, part := range []struct {
		name  string
		sets  *[]port.SetRow
		rolls *[]string
	}{{u.view.SetOut, &u.setsOut, &out}, {u.view.SetIn, &u.setsIn, &in}} {
		if part.name == "" {
			continue
		}
		set, err := u.w.Set(part.name)
		if err != nil {
			return nil, nil, err
		}
		*part.sets, *part.rolls = []port.SetRow{set}, []string{set.Top, set.Bottom}
	}
	return out, in, nil
}

// undo gives the stand back to what was in before, until the change after it.
func (u *correcting) undo() error {
	before, young, err := u.sets()
	if err != nil {
		return err
	}
	x := exchange{stand: u.stand, role: u.view.Role, from: u.view.At, until: u.next.At, out: young, in: before, whole: true}
	return u.exchange(x, func(v *revision) error {
		for _, number := range young {
			if u.next.Name != "" {
				if err := u.withdrawal(v, number, u.next.Name, time.Time{}, port.ChangeRow{}); err != nil {
					return err
				}
			}
			e, err := v.find(number, func(b roll.Body) bool { return b.Kind() == roll.KindMounted && changeOf(b) == u.view.Name })
			if err != nil {
				return err
			}
			v.withdraw(number, e)
		}
		for _, number := range before {
			if err := u.withdrawal(v, number, u.view.Name, u.next.At, u.next); err != nil {
				return err
			}
		}
		return nil
	}, func() error {
		if err := u.w.UndoChange(u.view.Name, u.view.UndoneAt, u.view.UndoneBy, u.view.UndoneWhy); err != nil || u.next.Name == "" {
			return err
		}
		after := u.next
		after.SetOut = u.view.SetOut
		if after.Why = ""; after.SetOut != "" {
			after.Why = cmp.Or(u.next.Why, roll.Planned)
		}
		return u.w.MoveChange(after)
	}, statedOf(u.view.ChangeRow).Stated || statedOf(u.next).Stated)
}

// withdrawal takes the entry of a roll's withdrawal by a change away, or makes it
// one by another change at that one's moment.
func (u *correcting) withdrawal(v *revision, number, change string, at time.Time, by port.ChangeRow) error {
	e, err := v.find(number, func(b roll.Body) bool { return b.Kind() == roll.KindWithdrawn && changeOf(b) == change })
	if err != nil {
		return err
	}
	if by.Name == "" {
		v.withdraw(number, e)
		return nil
	}
	body := e.Body.(roll.Withdrawn)
	body.Change, body.Why = by.Name, cmp.Or(by.Why, roll.Planned)
	v.replace(number, e, at, body)
	return nil
}

// exchange runs a correction: the entries, the register, and what follows.
func (u *correcting) exchange(x exchange, draft func(*revision) error, register func() error, again bool) error {
	t, err := x.through(u.w)
	if err != nil {
		return err
	}
	for _, set := range slices.Concat(u.setsIn, u.setsOut) {
		if slices.Contains(x.in, set.Top) {
			if err := chocksLeft(u.w, set, x.from, x.until); err != nil {
				return err
			}
		}
	}
	v, err := u.app.newRevision(u.w, u.call, u.now, u.reason, slices.Concat(x.out, x.in))
	if err != nil {
		return err
	}
	undone := !u.view.UndoneAt.IsZero()
	if undone { // what went in, as it was
		if err := u.show(&u.view.In, x.out); err != nil {
			return err
		}
	}
	if err := draft(v); err != nil {
		return err
	}
	tell, err := v.mishaps(x, t)
	if err != nil {
		return err
	}
	if _, err := v.write(); err != nil {
		return err
	}
	if err := register(); err != nil {
		return err
	}
	if err := tell(); err != nil {
		return err
	}
	if _, err := x.settle(u.app, u.w, u.now, again || t.pieces > 0, duty.Usage{}); err != nil {
		return err
	}
	u.view.Moved = x.moved(t)
	if undone {
		return u.show(&u.view.Out, x.in)
	}
	return u.showMoved()
}

// showMoved shows the rolls of a change that has another moment now.
func (u *correcting) showMoved() error {
	for _, set := range u.setsOut {
		if err := u.showStays(&u.view.Out, set, func(m port.Stay) bool { return m.WithdrawnAt.Equal(u.view.At) }); err != nil {
			return err
		}
	}
	for _, set := range u.setsIn {
		if err := u.showStays(&u.view.In, set, func(m port.Stay) bool { return m.MountedAt.Equal(u.view.At) }); err != nil {
			return err
		}
	}
	return nil
}

// show puts the mountings of rolls that are or were in the stand at the moment of
// the change into the answer.
func (u *correcting) show(into *[]port.Stay, rolls []string) error {
	for i := 0; i+1 < len(rolls); i += 2 {
		set := port.SetRow{Top: rolls[i], Bottom: rolls[i+1]}
		if err := u.showStays(into, set, func(m port.Stay) bool { return gather.Covers(m, u.view.At) }); err != nil {
			return err
		}
	}
	return nil
}

func (u *correcting) showStays(into *[]port.Stay, set port.SetRow, is func(port.Stay) bool) error {
	for _, number := range []string{set.Top, set.Bottom} {
		rows, err := gather.MountingsOf(u.w, number)
		if err != nil {
			return err
		}
		*into = append(*into, stayOf(rows, func(m port.Stay) bool { return m.Stand == u.view.Stand && is(m) })...)
	}
	return nil
}

// chocksLeft refuses when a chock went on or off the set in a time, zero for no
// end, in which it is to have been in a stand: there it could not have.
func chocksLeft(r port.Reader, set port.SetRow, from, until time.Time) error {
	within := func(at time.Time) bool { return at.After(from) && (until.IsZero() || at.Before(until)) }
	rows, err := port.Drain(func(p port.Page) ([]port.ChockRow, string, error) {
		return r.Chocks(port.ChockFilter{Mill: set.Mill}, p)
	})
	if err != nil {
		return err
	}
	for _, row := range rows {
		if row.Role != set.Role {
			continue
		}
		book, err := r.ChockBook(row.Name)
		if err != nil {
			return err
		}
		s, err := chock.Replay(book)
		if err != nil {
			return err
		}
		for _, fit := range s.Fits {
			if fit.Set == set.Name && (within(fit.From) || within(fit.To)) {
				return port.FailNext(next.ShowChock(row.Name), port.Conflicting, "chock %s went on or off set %s after the change; see its book", row.Name, set.Name)
			}
		}
	}
	return nil
}

// changeOf is the name of the roll change that wrote an entry.
func changeOf(b roll.Body) string {
	switch b := b.(type) {
	case roll.Mounted:
		return b.Change
	case roll.Withdrawn:
		return b.Change
	}
	return ""
}
