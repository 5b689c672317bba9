package record

import (
	"context"
	"errors"
	"fmt"
	"time"

	"barrelbook/api/app/gather"
	"barrelbook/api/app/port"
	"barrelbook/domain/chock"
	"barrelbook/domain/next"
	"barrelbook/domain/refusal"
)

// ChockView is a chock with what it and its bearing have run.
type ChockView struct {
	chock.State
	Stand      string // its set's, empty in the shop
	Life       chock.Borne
	OnBearing  chock.Borne
	Inspection chock.Standing
	Notes      []string
}

// Chock shows a chock. NotFound when there is none of the name.
func (a *Recorder) Chock(ctx context.Context, name string) (v ChockView, err error) {
	err = a.store.Read(ctx, func(r port.Reader) error {
		v, err = viewChock(r, name, a.clock.Now())
		return err
	})
	return v, err
}

// Chocks lists chocks by name.
func (a *Recorder) Chocks(ctx context.Context, f port.ChockFilter, p port.Page) (views []ChockView, next string, err error) {
	err = a.store.Read(ctx, func(r port.Reader) error {
		rows, after, err := r.Chocks(f, p)
		if err != nil {
			return err
		}
		for _, row := range rows {
			v, err := viewChock(r, row.Name, a.clock.Now())
			if err != nil {
				return err
			}
			views = append(views, v)
		}
		next = after
		return nil
	})
	return views, next, err
}

// ChockEntries pages through the book of a chock. NotFound when there is none
// of the name.
func (a *Recorder) ChockEntries(ctx context.Context, name string, p port.Page) (entries []chock.Entry, next string, err error) {
	err = a.store.Read(ctx, func(r port.Reader) error {
		if _, err := r.Chock(name); err != nil {
			return err
		}
		entries, next, err = r.ChockEntries(name, p)
		return err
	})
	return entries, next, err
}

func viewChock(r port.Reader, name string, now time.Time) (ChockView, error) {
	s, stays, err := gather.ReadChock(r, name)
	if err != nil {
		return ChockView{}, err
	}
	v := ChockView{State: s, Inspection: s.Standing(stays, now)}
	v.Life, v.OnBearing = s.Borne(stays, s.ReceivedAt, now), s.Borne(stays, s.BearingSince, now)
	if s.Set == "" {
		return v, nil
	}
	set, err := r.Set(s.Set)
	if err != nil {
		return ChockView{}, err
	}
	v.Stand = set.Stand
	if !set.BrokenAt.IsZero() {
		v.Notes = append(v.Notes, fmt.Sprintf("set %s was broken on %s: take the chock off", set.Name, port.Moment(set.BrokenAt)))
	}
	return v, nil
}

// AddChock opens a book. Conflicting when the name is taken, Impossible when the
// mill is not known.
func (a *Recorder) AddChock(ctx context.Context, call port.Call, at time.Time, c chock.Chock, note string) (ChockView, error) {
	return record(ctx, a, call, "added chock "+c.Name, func(w port.Writer, now time.Time) (ChockView, error) {
		var check refusal.Check
		if err := checkKnown(&check, "mill", c.Mill, func() error { _, err := w.Mill(c.Mill); return err }); err != nil {
			return ChockView{}, err
		}
		if err := check.Err(); err != nil {
			return ChockView{}, port.Refused(err)
		}
		return a.enterChock(w, call, c.Name, nil, at, chock.Received{Chock: c, Note: note})
	})
}

// FitInput puts a chock on a set; an empty set takes it off.
type FitInput struct {
	At    time.Time
	Set   string
	Place chock.Place
	Note  string
}

// FitChock records where a chock goes. Conflicting when it or the place is taken,
// when the set was broken or is in a stand; Impossible when the set is of another
// mill or role.
func (a *Recorder) FitChock(ctx context.Context, call port.Call, name string, in FitInput) (ChockView, error) {
	return record(ctx, a, call, "fitted chock "+name, func(w port.Writer, now time.Time) (ChockView, error) {
		if (in.Set == "") != (in.Place == "") {
			return ChockView{}, port.Refused(refusal.One("place", string(in.Place), "and set go together", "give both to fit the chock, neither to take it off"))
		}
		book, s, err := lockChock(w, name, in.Set)
		if err != nil {
			return ChockView{}, err
		}
		if in.Set == "" {
			if err := inShop(w, s.Set); err != nil {
				return ChockView{}, err
			}
			return a.enterChock(w, call, name, book, in.At, chock.TakenOff{Note: in.Note})
		}
		if err := mayCarry(w, s, in); err != nil {
			return ChockView{}, err
		}
		return a.enterChock(w, call, name, book, in.At, chock.Fitted{Set: in.Set, Place: in.Place, Note: in.Note})
	})
}

// inShop refuses to touch the chocks of a set that is in a stand.
func inShop(r port.Reader, setName string) error {
	if setName == "" {
		return nil
	}
	set, err := r.Set(setName)
	if err == nil && set.Stand != "" {
		return port.Fail(port.Conflicting, "set %s is in %s; chocks go on and off in the shop: record the roll change first", set.Name, set.Stand)
	}
	return err
}

func mayCarry(r port.Reader, s chock.State, in FitInput) error {
	set, err := r.Set(in.Set)
	if err != nil {
		return err
	}
	if !set.BrokenAt.IsZero() {
		return port.Fail(port.Conflicting, "set %s was broken on %s", set.Name, port.Moment(set.BrokenAt))
	}
	if set.Role != s.Role || set.Mill != s.Mill {
		return port.Refused(refusal.One("set", set.Name, fmt.Sprintf("is of %s rolls of mill %s; chock %s is for %s rolls of mill %s", set.Role, set.Mill, s.Name, s.Role, s.Mill), ""))
	}
	if err := inShop(r, in.Set); err != nil {
		return err
	}
	others, err := port.Drain(func(p port.Page) ([]port.ChockRow, string, error) { return r.Chocks(port.ChockFilter{Set: in.Set}, p) })
	if err != nil {
		return err
	}
	for _, o := range others {
		if o.Place == in.Place && o.Name != s.Name {
			return port.FailNext(next.TakeChockOff(o.Name), port.Conflicting, "chock %s is on set %s (%s) already; take it off first", o.Name, in.Set, in.Place)
		}
	}
	return nil
}

// InspectChock records an inspection. Conflicting when a bearing is changed while
// its set is in a stand.
func (a *Recorder) InspectChock(ctx context.Context, call port.Call, name string, at time.Time, body chock.Inspected) (ChockView, error) {
	return record(ctx, a, call, "inspected chock "+name, func(w port.Writer, now time.Time) (ChockView, error) {
		book, s, err := lockChock(w, name, "")
		if err != nil {
			return ChockView{}, err
		}
		if body.NewBearing != "" {
			if err := inShop(w, s.Set); err != nil {
				return ChockView{}, err
			}
		}
		return a.enterChock(w, call, name, book, at, body)
	})
}

// lockChock keeps others off a chock and off the sets it is on and goes to, by
// the locks on their rolls, which a roll change takes too. It gives the book.
func lockChock(w port.Writer, name, to string) ([]chock.Entry, chock.State, error) {
	book, err := w.ChockBook(name)
	if err != nil {
		return nil, chock.State{}, err
	}
	s, err := chock.Replay(book)
	if err != nil {
		return nil, s, err
	}
	var rolls []string
	for _, set := range []string{s.Set, to} {
		if set == "" {
			continue
		}
		row, err := w.Set(set)
		if err != nil {
			return nil, s, err
		}
		rolls = append(rolls, row.Top, row.Bottom)
	}
	if err := w.LockRolls(rolls); err != nil {
		return nil, s, err
	}
	if err := w.LockChocks([]string{name}); err != nil {
		return nil, s, err
	}
	if book, err = w.ChockBook(name); err != nil {
		return nil, s, err
	}
	s, err = chock.Replay(book)
	return book, s, err
}

// enterChock writes the next entry of a chock's book.
func (a *Recorder) enterChock(w port.Writer, call port.Call, name string, book []chock.Entry, at time.Time, body chock.Body) (ChockView, error) {
	var since time.Time
	if len(book) > 0 {
		since = book[len(book)-1].At
	}
	at, now, err := a.dated(w, at, since)
	if err != nil {
		return ChockView{}, err
	}
	e := chock.Entry{Chock: name, Number: int64(len(book) + 1), At: at, RecordedAt: now, By: call.Actor, Body: body}
	s, err := chock.Replay(append(book[:len(book):len(book)], e))
	var conflict *chock.Conflict
	if errors.As(err, &conflict) {
		return ChockView{}, &port.Error{Kind: port.Conflicting, Detail: err.Error(), Err: err}
	}
	if err != nil {
		return ChockView{}, err
	}
	if err := w.AppendChock(port.ChockRow{Name: name, Mill: s.Mill, Role: s.Role, Set: s.Set, Place: s.Place, Version: e.Number}, e); err != nil {
		return ChockView{}, err
	}
	return viewChock(w, name, now)
}
