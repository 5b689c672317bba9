package app

import (
	"context"
	"errors"
	"fmt"
	"time"

	"barrelbook/domain/chock"
	"barrelbook/domain/refusal"
	"barrelbook/domain/roll"
)

// ChockView is a chock with what it and its bearing have run.
type ChockView struct {
	chock.State
	Stand           string // its set's, empty in the shop
	Life            chock.Borne
	OnBearing       chock.Borne
	SinceInspection float64 // hours
	Due             bool
	Notes           []string
}

// Chock shows a chock. NotFound when there is none of the name.
func (a *App) Chock(ctx context.Context, name string) (v ChockView, err error) {
	err = a.store.Read(ctx, func(r Reader) error {
		v, err = viewChock(r, name, a.clock.Now())
		return err
	})
	return v, err
}

// Chocks lists chocks by name.
func (a *App) Chocks(ctx context.Context, f ChockFilter, p Page) (views []ChockView, next string, err error) {
	err = a.store.Read(ctx, func(r Reader) error {
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
func (a *App) ChockEntries(ctx context.Context, name string, p Page) (entries []chock.Entry, next string, err error) {
	err = a.store.Read(ctx, func(r Reader) error {
		if _, err := r.Chock(name); err != nil {
			return err
		}
		entries, next, err = r.ChockEntries(name, p)
		return err
	})
	return entries, next, err
}

func viewChock(r Reader, name string, now time.Time) (ChockView, error) {
	book, err := r.ChockBook(name)
	if err != nil {
		return ChockView{}, err
	}
	s, err := chock.Replay(book)
	if err != nil {
		return ChockView{}, err
	}
	v := ChockView{State: s}
	stays, err := chockStays(r, s)
	if err != nil {
		return ChockView{}, err
	}
	v.Life, v.OnBearing = s.Borne(stays, s.ReceivedAt, now), s.Borne(stays, s.BearingSince, now)
	v.SinceInspection, v.Due = s.Due(stays, now)
	if s.Set == "" {
		return v, nil
	}
	set, err := r.Set(s.Set)
	if err != nil {
		return ChockView{}, err
	}
	v.Stand = set.Stand
	if !set.BrokenAt.IsZero() {
		v.Notes = append(v.Notes, fmt.Sprintf("set %s was broken on %s: take the chock off: barrelbook chock fit %s --off", set.Name, moment(set.BrokenAt), s.Name))
	}
	return v, nil
}

// chockStays are the stays in stands of the sets the chock was on, by the roll it
// sat on.
func chockStays(r Reader, s chock.State) ([]chock.Stay, error) {
	var stays []chock.Stay
	seen := map[string]bool{}
	for _, fit := range s.Fits {
		set, err := r.Set(fit.Set)
		if err != nil {
			return nil, err
		}
		number := set.Bottom
		if fit.Place.Top() {
			number = set.Top
		}
		if seen[fit.Set+"/"+number] {
			continue
		}
		seen[fit.Set+"/"+number] = true
		mountings, err := drain(func(p Page) ([]MountingRow, string, error) { return r.Mountings(number, p) })
		if err != nil {
			return nil, err
		}
		for _, m := range mountings {
			if m.Set == fit.Set {
				stays = append(stays, chock.Stay{Set: m.Set, From: m.MountedAt, To: m.WithdrawnAt, TonnageT: m.Usage.TonnageT})
			}
		}
	}
	return stays, nil
}

// AddChock opens a book. Conflicting when the name is taken, Impossible when the
// mill is not known.
func (a *App) AddChock(ctx context.Context, call Call, at time.Time, c chock.Chock, note string) (ChockView, error) {
	return record(ctx, a, call, "added chock "+c.Name, func(w Writer, now time.Time) (ChockView, error) {
		var refused refusal.Check
		if err := known(&refused, "mill", c.Mill, func() error { _, err := w.Mill(c.Mill); return err }); err != nil {
			return ChockView{}, err
		}
		if err := refused.Err(); err != nil {
			return ChockView{}, impossible(err)
		}
		return a.enterChock(w, call, c.Name, nil, at, now, chock.Received{Chock: c, Note: note})
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
func (a *App) FitChock(ctx context.Context, call Call, name string, in FitInput) (ChockView, error) {
	return record(ctx, a, call, "fitted chock "+name, func(w Writer, now time.Time) (ChockView, error) {
		if (in.Set == "") != (in.Place == "") {
			return ChockView{}, impossible(refusal.One("place", string(in.Place), "and set go together", "give both to fit the chock, neither to take it off"))
		}
		book, err := w.ChockBook(name)
		if err != nil {
			return ChockView{}, err
		}
		s, err := chock.Replay(book)
		if err != nil {
			return ChockView{}, err
		}
		if in.Set == "" {
			if err := inShop(w, s.Set); err != nil {
				return ChockView{}, err
			}
			return a.enterChock(w, call, name, book, in.At, now, chock.TakenOff{Note: in.Note})
		}
		if err := mayCarry(w, s, in); err != nil {
			return ChockView{}, err
		}
		return a.enterChock(w, call, name, book, in.At, now, chock.Fitted{Set: in.Set, Place: in.Place, Note: in.Note})
	})
}

// inShop refuses to touch the chocks of a set that is in a stand.
func inShop(r Reader, setName string) error {
	if setName == "" {
		return nil
	}
	set, err := r.Set(setName)
	if err == nil && set.Stand != "" {
		return fail(Conflicting, "set %s is in %s; chocks go on and off in the shop: record the roll change first", set.Name, set.Stand)
	}
	return err
}

func mayCarry(r Reader, s chock.State, in FitInput) error {
	set, err := r.Set(in.Set)
	if err != nil {
		return err
	}
	if !set.BrokenAt.IsZero() {
		return fail(Conflicting, "set %s was broken on %s", set.Name, moment(set.BrokenAt))
	}
	if set.Role != s.Role || set.Mill != s.Mill {
		return impossible(refusal.One("set", set.Name, fmt.Sprintf("is of %s rolls of mill %s; chock %s is for %s rolls of mill %s", set.Role, set.Mill, s.Name, s.Role, s.Mill), ""))
	}
	if err := inShop(r, in.Set); err != nil {
		return err
	}
	others, err := drain(func(p Page) ([]ChockRow, string, error) { return r.Chocks(ChockFilter{Set: in.Set}, p) })
	if err != nil {
		return err
	}
	for _, o := range others {
		if o.Place == in.Place && o.Name != s.Name {
			return fail(Conflicting, "chock %s is on set %s (%s) already; take it off first: barrelbook chock fit %s --off", o.Name, in.Set, in.Place, o.Name)
		}
	}
	return nil
}

// InspectChock records an inspection. Conflicting when a bearing is changed while
// its set is in a stand.
func (a *App) InspectChock(ctx context.Context, call Call, name string, at time.Time, body chock.Inspected) (ChockView, error) {
	return record(ctx, a, call, "inspected chock "+name, func(w Writer, now time.Time) (ChockView, error) {
		book, err := w.ChockBook(name)
		if err != nil {
			return ChockView{}, err
		}
		if s, err := chock.Replay(book); err != nil {
			return ChockView{}, err
		} else if body.NewBearing != "" {
			if err := inShop(w, s.Set); err != nil {
				return ChockView{}, err
			}
		}
		return a.enterChock(w, call, name, book, at, now, body)
	})
}

// enterChock writes the next entry of a chock's book.
func (a *App) enterChock(w Writer, call Call, name string, book []chock.Entry, at, now time.Time, body chock.Body) (ChockView, error) {
	at, err := happened(at, now)
	if err != nil {
		return ChockView{}, err
	}
	e := chock.Entry{Chock: name, Number: int64(len(book) + 1), At: at, RecordedAt: now, By: call.Actor, Body: body}
	s, err := chock.Replay(append(book[:len(book):len(book)], e))
	var conflict *chock.Conflict
	if errors.As(err, &conflict) {
		return ChockView{}, &Error{Kind: Conflicting, Detail: err.Error(), Err: err}
	}
	if err != nil {
		return ChockView{}, err
	}
	if err := w.AppendChock(ChockRow{Name: name, Mill: s.Mill, Role: s.Role, Set: s.Set, Place: s.Place, Version: e.Number}, e); err != nil {
		return ChockView{}, err
	}
	return viewChock(w, name, now)
}

// failedChock refuses a set whose chocks have a bearing that failed.
func failedChock(r Reader, set SetRow) error {
	rows, err := drain(func(p Page) ([]ChockRow, string, error) { return r.Chocks(ChockFilter{Set: set.Name}, p) })
	if err != nil {
		return err
	}
	for _, row := range rows {
		book, err := r.ChockBook(row.Name)
		if err != nil {
			return err
		}
		s, err := chock.Replay(book)
		if err != nil {
			return err
		}
		if s.Condition == roll.Failed {
			return fail(Conflicting, "chock %s on set %s failed its inspection of %s; put it right and inspect it again: barrelbook chock inspect %s", row.Name, set.Name, moment(s.InspectedAt), row.Name)
		}
	}
	return nil
}
