package record

import (
	"cmp"
	"context"
	"fmt"
	"slices"
	"time"

	"barrelbook/api/app/caution"
	"barrelbook/api/app/gather"
	"barrelbook/api/app/port"
	"barrelbook/domain/duty"
	"barrelbook/domain/mill"
	"barrelbook/domain/practice"
	"barrelbook/domain/refusal"
	"barrelbook/domain/roll"
)

// ChangeInput is a roll change at one stand. An empty SetIn leaves the stand
// without rolls of the role.
type ChangeInput struct {
	Stand                 string
	Role                  mill.Role
	At                    time.Time
	SetIn                 string
	Why                   roll.Why // empty for planned
	StatedT               float64
	StatedKM              float64
	StatedSpecificKNPerMM float64
	Note                  string
}

// ChangeView is a change with the rolls that came out and went in.
type ChangeView struct {
	port.ChangeRow
	Out      []port.Stay
	In       []port.Stay
	Moved    []Moved // booked on other rolls than before
	Cautions []string
}

// Changes lists roll changes, newest first.
func (a *Recorder) Changes(ctx context.Context, stand string, p port.Page) (items []port.ChangeRow, next string, err error) {
	err = a.store.Read(ctx, func(r port.Reader) error {
		items, next, err = r.Changes(stand, p)
		return err
	})
	return items, next, err
}

// RecordChange writes a roll change into the books of all its rolls, all or
// nothing. One that is told late takes its place before those that came after it,
// and moves what was rolled since to the rolls that were really in. NotFound for
// an unknown stand or set; Conflicting when a roll could not come out or go in
// then, by the books as they are; Impossible when the set does not belong in the
// stand.
func (a *Recorder) RecordChange(ctx context.Context, call port.Call, in ChangeInput) (ChangeView, error) {
	view, err := record(ctx, a, call, "recorded a roll change at "+in.Stand, func(w port.Writer, _ time.Time) (ChangeView, error) {
		if err := w.LockStands([]string{in.Stand}); err != nil {
			return ChangeView{}, err
		}
		stand, err := w.Stand(in.Stand)
		if err != nil {
			return ChangeView{}, err
		}
		if !stand.Arrangement.Takes(in.Role) {
			return ChangeView{}, port.Refused(refusal.One("role", string(in.Role), fmt.Sprintf("rolls have no place in %s, which is %s", stand.Name, stand.Arrangement), ""))
		}
		at, now, err := a.lockChange(w, in)
		if err != nil {
			return ChangeView{}, err
		}
		turn, err := turnAt(w, stand, in.Role, at)
		if err != nil {
			return ChangeView{}, err
		}
		view := ChangeView{ChangeRow: port.ChangeRow{Name: a.ids.Name("change"), Stand: in.Stand, Role: in.Role, At: at, SetOut: turn.setIn(), SetIn: in.SetIn, By: call.Actor, Note: in.Note,
			StatedT: in.StatedT, StatedKM: in.StatedKM, StatedSpecificKNPerMM: in.StatedSpecificKNPerMM}}
		if view.SetOut != "" {
			view.Why = cmp.Or(in.Why, roll.Planned)
		}
		if err := turn.takes(view.ChangeRow); err != nil {
			return ChangeView{}, err
		}
		c := changing{app: a, w: w, call: call, now: now, turn: turn, view: &view}
		return view, c.run()
	})
	a.Changed.Store(a.Changed.Load() || err == nil && !call.DryRun)
	return view, err
}

// lockChange keeps others off every roll that goes into the stand or has been in
// it since, all at once and so in the order of their names, and dates the change:
// where no moment was stated it comes after the change before it.
func (a *Recorder) lockChange(w port.Writer, in ChangeInput) (at, now time.Time, err error) {
	var rolls []string
	if in.SetIn != "" {
		set, err := w.Set(in.SetIn)
		if err != nil {
			return at, now, err
		}
		rolls = append(rolls, set.Top, set.Bottom)
	}
	if now, err = a.clock.In(w); err != nil {
		return at, now, err
	}
	from := now
	if !in.At.IsZero() && in.At.Before(now) {
		from = in.At
	}
	stays, err := w.MountingsBetween([]string{in.Stand}, from, time.Time{})
	if err != nil {
		return at, now, err
	}
	var since []time.Time
	for _, m := range stays {
		rolls = append(rolls, m.Roll)
		if m.Position.Role() == in.Role {
			since = append(since, m.MountedAt.Add(time.Microsecond), m.WithdrawnAt)
		}
	}
	if at, now, err = a.lockDated(w, in.At, rolls...); err != nil || at.Before(now) {
		return at, now, err
	}
	return a.dated(w, at, append(since, at)...)
}

// changing is the work of one roll change.
type changing struct {
	app  *Recorder
	w    port.Writer
	call port.Call
	now  time.Time
	turn turn
	view *ChangeView
}

func (c changing) run() error {
	var set port.SetRow
	x := exchange{stand: c.turn.stand, role: c.view.Role, from: c.view.At, until: c.turn.next.At, out: positions(c.view.Role, c.turn.in)}
	if c.view.SetIn != "" {
		var err error
		if set, err = c.w.Set(c.view.SetIn); err != nil {
			return err
		}
		x.in = []string{set.Top, set.Bottom}
	}
	t, err := x.through(c.w)
	if err != nil {
		return err
	}
	v, err := c.app.newRevision(c.w, c.call, c.now, "roll change "+c.view.Name+" was recorded late", append(slices.Clone(x.out), x.in...))
	if err != nil {
		return err
	}
	if err := c.takeOut(v, x); err != nil {
		return err
	}
	var then gather.SetView
	if c.view.SetIn != "" {
		if then, err = c.putIn(v, set); err != nil {
			return err
		}
	}
	tell, err := v.mishaps(x, t)
	if err != nil {
		return err
	}
	if _, err := v.write(); err != nil {
		return err
	}
	// Asked after the entries, so that the book's own refusals come first.
	if c.view.SetIn != "" {
		if err := released(then); err != nil {
			return err
		}
	}
	if err := c.w.CreateChange(c.view.ChangeRow); err != nil {
		return err
	}
	if after := c.turn.next; after.Name != "" {
		after.SetOut = c.view.SetIn
		if after.Why = ""; after.SetOut != "" {
			after.Why = cmp.Or(c.turn.next.Why, roll.Planned)
		}
		if err := c.w.MoveChange(after); err != nil {
			return err
		}
	}
	if err := tell(); err != nil {
		return err
	}
	c.view.Moved = x.moved(t)
	if c.inTurn(t) {
		err = c.settleInTurn(x, then)
	} else {
		err = c.settle(x, t)
	}
	if err != nil {
		return err
	}
	return c.caution(x)
}

// takeOut drafts the withdrawal of the rolls that were in. Where a later change
// has taken them out, they came out now already.
func (c changing) takeOut(v *revision, x exchange) error {
	for i, number := range x.out {
		body := roll.Withdrawn{Stand: c.view.Stand, Position: gather.PositionOf(c.view.Role, i == 0), Set: c.view.SetOut, Change: c.view.Name, Why: c.view.Why}
		if c.turn.next.Name == "" {
			v.enter(number, c.view.At, c.view.Note, body)
			continue
		}
		e, err := v.find(number, func(b roll.Body) bool { return b.Kind() == roll.KindWithdrawn && changeOf(b) == c.turn.next.Name })
		if err != nil {
			return err
		}
		v.replace(number, e, c.view.At, body)
	}
	return nil
}

// putIn drafts the mounting of the set named, and its withdrawal where a later
// change is in the books.
func (c changing) putIn(v *revision, set port.SetRow) (gather.SetView, error) {
	shop, err := gather.OpenShop(c.w, c.now)
	if err != nil {
		return gather.SetView{}, err
	}
	then, err := setAt(c.w, shop, set, c.view.At)
	if err != nil {
		return then, err
	}
	if set.Role != c.view.Role {
		return then, port.Refused(refusal.One("set_in", set.Name, fmt.Sprintf("is a set of %s rolls, and %s rolls are changed", set.Role, c.view.Role), "name a set of the role, or give the role of the set"))
	}
	if err := maySetGoIn(then, c.turn.stand, shop.Practices); err != nil {
		return then, err
	}
	after := c.turn.next
	if after.Name != "" {
		if err := chocksLeft(c.w, set, c.view.At, after.At); err != nil {
			return then, err
		}
	}
	for i, s := range []roll.State{then.TopState, then.BottomState} {
		p, position := practice.Resolve(shop.Practices, gather.CaseIn(s, c.turn.stand)), gather.PositionOf(set.Role, i == 0)
		v.enter(s.Roll.Number, c.view.At, c.view.Note, roll.Mounted{Stand: c.view.Stand, Position: position, Set: set.Name, Change: c.view.Name,
			Cooling: p.Hours(practice.CoolingH), CampaignsBetweenGrinds: int(p.Number(practice.CampaignsBetweenGrind))})
		if after.Name != "" {
			v.enter(s.Roll.Number, after.At, after.Note, roll.Withdrawn{Stand: c.view.Stand, Position: position, Set: set.Name, Change: after.Name, Why: cmp.Or(after.Why, roll.Planned)})
		}
	}
	return then, nil
}

// settle brings mountings, sets and what was rolled in line with the books, and
// shows the rolls that came out and went in.
func (c changing) settle(x exchange, t through) error {
	rows, err := x.settle(c.app, c.w, c.now, t.pieces > 0 || statedOf(c.turn.next).Stated, statedOf(c.view.ChangeRow))
	if err != nil {
		return err
	}
	for _, number := range x.out {
		c.view.Out = append(c.view.Out, stayOf(rows[number], func(m port.Stay) bool { return m.WithdrawnAt.Equal(c.view.At) })...)
	}
	for _, number := range x.in {
		c.view.In = append(c.view.In, stayOf(rows[number], func(m port.Stay) bool { return m.MountedAt.Equal(c.view.At) })...)
	}
	return nil
}

// caution says what is to be heeded of the rolls as the change left them.
func (c changing) caution(x exchange) (err error) {
	if c.view.Cautions, err = changeCautions(c.w, x.out, x.in); err != nil {
		return err
	}
	if len(c.view.In) > 0 {
		c.view.Cautions = append(c.view.Cautions, stackCautions(c.turn.stand, append(c.turn.others, c.view.In...))...)
	}
	return nil
}

// changeCautions are those of the rolls as the change left them.
func changeCautions(r port.Reader, out, in []string) ([]string, error) {
	states, err := gather.StatesOf(r, append(slices.Clone(out), in...))
	if err != nil {
		return nil, err
	}
	of := func(numbers []string) (list []roll.State) {
		for _, n := range numbers {
			list = append(list, *states[n])
		}
		return list
	}
	return caution.ForChange(of(out), of(in)), nil
}

func stayOf(rows []port.Stay, is func(port.Stay) bool) []port.Stay {
	if i := slices.IndexFunc(rows, is); i >= 0 {
		return rows[i : i+1]
	}
	return nil
}

// stated is what was stated of the rolls that came out.
func statedOf(c port.ChangeRow) duty.Usage {
	return stated(c.StatedT, c.StatedKM, c.StatedSpecificKNPerMM)
}
