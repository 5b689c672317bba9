package record

import (
	"context"
	"fmt"
	"strings"
	"time"

	"barrelbook/api/app/caution"
	"barrelbook/api/app/gather"
	"barrelbook/api/app/port"
	"barrelbook/domain/duty"
	"barrelbook/domain/mill"
	"barrelbook/domain/next"
	"barrelbook/domain/practice"
	"barrelbook/domain/quantity"
	"barrelbook/domain/refusal"
	"barrelbook/domain/release"
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
// nothing. NotFound for an unknown stand or set; Conflicting when a roll cannot
// come out or go in, or when the stand has been changed since the moment given;
// Impossible when the set does not belong in the stand.
func (a *Recorder) RecordChange(ctx context.Context, call port.Call, in ChangeInput) (ChangeView, error) {
	return record(ctx, a, call, "recorded a roll change at "+in.Stand, func(w port.Writer, _ time.Time) (ChangeView, error) {
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
		others, mounted, err := standAt(w, in, at)
		if err != nil {
			return ChangeView{}, err
		}
		view := ChangeView{ChangeRow: port.ChangeRow{Name: a.ids.Name("change"), Stand: in.Stand, Role: in.Role, At: at, SetIn: in.SetIn, By: call.Actor, Note: in.Note,
			StatedT: in.StatedT, StatedKM: in.StatedKM, StatedSpecificKNPerMM: in.StatedSpecificKNPerMM}, Cautions: []string{caution.Stand, caution.Warm}}
		if err := a.takeOut(w, call, in, mounted, &view, now); err != nil {
			return ChangeView{}, err
		}
		if in.SetIn != "" {
			if err := a.putIn(w, call, stand, &view, now); err != nil {
				return ChangeView{}, err
			}
			view.Cautions = append(view.Cautions, stackCautions(stand, append(others, view.In...))...)
		}
		if view.SetOut == "" && view.SetIn == "" {
			return ChangeView{}, port.Fail(port.Conflicting, "there is no %s roll in %s to take out and no set was named to go in", in.Role, in.Stand)
		}
		late, err := rolledSince(w, stand, view)
		if err != nil {
			return ChangeView{}, err
		}
		view.Cautions = append(view.Cautions, late...)
		return view, w.CreateChange(view.ChangeRow)
	})
}

// lockChange keeps others off every roll that comes out of the stand or goes in, all at once and so in the order of their names, and dates the
// change: where no moment was stated it comes after the change before it.
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
	stays, err := w.MountingsSince([]string{in.Stand}, now)
	if err != nil {
		return at, now, err
	}
	var since []time.Time
	for _, m := range stays {
		if m.Position.Role() != in.Role {
			continue
		}
		since = append(since, m.MountedAt.Add(time.Microsecond), m.WithdrawnAt)
		if m.WithdrawnAt.IsZero() {
			rolls = append(rolls, m.Roll)
		}
	}
	if at, now, err = a.lockDated(w, in.At, rolls...); err != nil || at.Before(now) {
		return at, now, err
	}
	return a.dated(w, at, append(since, at)...)
}

// standAt gives who is in the stand: the rolls of other roles and those of the
// role that is changed. A change of the role may not lie before one that is in
// the books, as no book of its own rolls would show that the place was taken.
func standAt(r port.Reader, in ChangeInput, at time.Time) (others, ofRole []port.Stay, err error) {
	mounted, err := r.MountingsSince([]string{in.Stand}, at)
	if err != nil {
		return nil, nil, err
	}
	for _, m := range mounted {
		switch {
		case m.Position.Role() != in.Role:
			if m.WithdrawnAt.IsZero() {
				others = append(others, m)
			}
		case !m.WithdrawnAt.IsZero():
			return nil, nil, lateChange(in, at, "set %s was in it until %s", m.Set, port.Moment(m.WithdrawnAt))
		case m.Set == in.SetIn:
			return nil, nil, port.Fail(port.Conflicting, "set %s is in %s already, since %s", m.Set, in.Stand, port.Moment(m.MountedAt))
		case !m.MountedAt.Before(at): // at the same moment: the change is recorded twice
			return nil, nil, lateChange(in, at, "set %s is in it since %s", m.Set, port.Moment(m.MountedAt))
		default:
			ofRole = append(ofRole, m)
		}
	}
	return others, ofRole, nil
}

// rolledSince tells of pieces that came in before a change that is dated before
// them: what they did stays with the rolls it was booked on.
func rolledSince(r port.Reader, stand mill.Stand, c ChangeView) ([]string, error) {
	piece, err := pieceSince(r, stand, c.At)
	if err != nil || piece.ID == "" {
		return nil, err
	}
	booked := "no roll"
	if len(c.Out) > 0 {
		booked = "set " + c.SetOut
	}
	return []string{fmt.Sprintf("Pieces that were rolled in %s after the change, the last %s on %s, came in before it and stay booked on %s. Record a change before the pieces that follow it.",
		stand.Name, piece.ID, port.Moment(piece.RolledAt), booked)}, nil
}

func lateChange(in ChangeInput, at time.Time, format string, args ...any) error {
	return port.FailNext(next.ListChanges(in.Stand), port.Conflicting, "a change of the %s rolls of %s on %s would lie before one that is in the books: %s; check the moment, or undo the later change first",
		in.Role, in.Stand, port.Moment(at), fmt.Sprintf(format, args...))
}

// takeOut withdraws the rolls of the role that are in the stand.
func (a *Recorder) takeOut(w port.Writer, call port.Call, in ChangeInput, mounted []port.Stay, view *ChangeView, now time.Time) error {
	stated := statedOf(view.ChangeRow)
	why := in.Why
	if why == "" {
		why = roll.Planned
	}
	if stated.Stated {
		additions := map[int64]duty.Usage{}
		for _, m := range mounted {
			additions[m.ID] = stated
		}
		if err := w.AddUsage(additions); err != nil {
			return err
		}
	}
	for _, m := range mounted {
		if view.SetOut == "" {
			view.SetOut, view.Why = m.Set, why
			set, err := w.Set(m.Set)
			if err != nil {
				return err
			}
			if _, err := a.enterBoth(w, set, call, view.At, now, in.Note, func(top bool) roll.Body {
				return roll.Withdrawn{Stand: in.Stand, Position: gather.PositionOf(in.Role, top), Set: m.Set, Change: view.Name, Why: why}
			}); err != nil {
				return err
			}
			set.Stand = ""
			if err := w.ReplaceSet(set); err != nil {
				return err
			}
		}
		if stated.Stated {
			m.Usage.Add(stated)
		}
		if err := w.CloseMounting(m.ID, view.At); err != nil {
			return err
		}
		m.WithdrawnAt = view.At
		view.Out = append(view.Out, m)
	}
	return nil
}

// stated is what was stated of the rolls that came out.
func statedOf(c port.ChangeRow) duty.Usage {
	return duty.Usage{TonnageT: c.StatedT, RolledKM: c.StatedKM, ExposureKM: c.StatedKM * c.StatedSpecificKNPerMM / 10, Stated: c.StatedT > 0 || c.StatedKM > 0}
}

// putIn mounts the set named.
func (a *Recorder) putIn(w port.Writer, call port.Call, stand mill.Stand, view *ChangeView, now time.Time) error {
	set, err := w.Set(view.SetIn)
	if err != nil {
		return err
	}
	if err := w.LockRolls([]string{set.Top, set.Bottom}); err != nil {
		return err
	}
	shop, err := gather.OpenShop(w, now)
	if err != nil {
		return err
	}
	practices := shop.Practices
	before, err := shop.ReadSets([]port.SetRow{set}, view.At)
	if err != nil {
		return err
	}
	if set.Role != view.Role {
		return port.Refused(refusal.One("set_in", set.Name, fmt.Sprintf("is a set of %s rolls, and %s rolls are changed", set.Role, view.Role), "name a set of the role, or give the role of the set"))
	}
	if err := maySetGoIn(before[0], stand, practices); err != nil {
		return err
	}
	states, err := a.enterBoth(w, set, call, view.At, now, view.Note, func(top bool) roll.Body {
		s := before[0].BottomState
		if top {
			s = before[0].TopState
		}
		p := practice.Resolve(practices, gather.CaseIn(s, stand))
		return roll.Mounted{Stand: stand.Name, Position: gather.PositionOf(set.Role, top), Set: set.Name, Change: view.Name,
			Cooling: p.Hours(practice.CoolingH), CampaignsBetweenGrinds: int(p.Number(practice.CampaignsBetweenGrind))}
	})
	if err != nil {
		return err
	}
	// Asked after the entries, so that the book's own refusals come first.
	if err := released(before[0]); err != nil {
		return err
	}
	for i, s := range states {
		m := port.Stay{Roll: s.Roll.Number, Stand: stand.Name, Position: gather.PositionOf(set.Role, i == 0), Set: set.Name, MountedAt: view.At, Diameter: s.Diameter}
		if m.ID, err = w.OpenMounting(m); err != nil {
			return err
		}
		view.In = append(view.In, m)
	}
	set.Stand = stand.Name
	return w.ReplaceSet(set)
}

// released refuses a set that is not released, by all that keeps it in.
func released(v gather.SetView) error {
	if v.Fitness.MayGoIn() {
		return nil
	}
	if v.Fitness.Word == release.NotReleased {
		return port.FailNext(next.ShowSet(v.Name), port.Conflicting, "set %s is not released: %s; do what is named, or an engineer releases it with a reason", v.Name, strings.Join(v.Fitness.MissingReasons, "; "))
	}
	return port.FailNext(next.ShowSet(v.Name), port.Conflicting, "set %s is not fit: %s", v.Name, strings.Join(v.Fitness.Reasons, "; "))
}

// maySetGoIn holds the rules that need more than one book: the set stands, its
// rolls serve the stand, the pair is still in tolerance.
func maySetGoIn(v gather.SetView, stand mill.Stand, practices []practice.Practice) error {
	switch {
	case !v.BrokenAt.IsZero():
		return port.FailNext(next.ListSets(), port.Conflicting, "set %s was broken on %s; see the sets that there are", v.Name, port.Moment(v.BrokenAt))
	case v.Stand != "":
		return port.Fail(port.Conflicting, "set %s is in %s", v.Name, v.Stand)
	}
	if why := gather.Misfit(v, stand); why != "" {
		return port.Refused(refusal.One("set_in", v.Name, why, "see the sets that are ready", next.ListReadySets()))
	}
	tolerance := practice.Resolve(practices, gather.CaseIn(v.TopState, stand)).Micrometres(practice.PairToleranceUM)
	return port.BookError(roll.WithinTolerance(v.TopState, v.BottomState, tolerance))
}

// stackCautions warns of a stack of rolls that is outside the stand's limits.
// It is no refusal: at a stop where both work and backup rolls are changed, one
// role is recorded before the other.
func stackCautions(stand mill.Stand, in []port.Stay) []string {
	if len(in) < len(stand.Arrangement.Positions()) {
		return nil
	}
	var stack quantity.Micrometre
	for _, m := range in {
		stack += m.Diameter
	}
	switch {
	case stand.MinStack > 0 && stack < stand.MinStack:
		return []string{fmt.Sprintf("The rolls now in %s make a stack of %s; the least it can close on is %s.", stand.Name, stack, stand.MinStack)}
	case stand.MaxStack > 0 && stack > stand.MaxStack:
		return []string{fmt.Sprintf("The rolls now in %s make a stack of %s; the most it has room for is %s.", stand.Name, stack, stand.MaxStack)}
	}
	return nil
}
