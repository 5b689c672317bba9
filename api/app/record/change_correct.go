package record

import (
	"context"
	"time"

	"barrelbook/api/app/port"
	"barrelbook/domain/next"
	"barrelbook/domain/refusal"
	"barrelbook/domain/roll"
)

// CorrectChange moves a roll change to the moment when it really was, in the
// books of all its rolls, with what was rolled in between. NotFound when there is
// none of the name; Conflicting when it was undone, when another change of the
// stand lies between, or when a book does not bear it; Impossible when the moment
// is its own or lies in the future.
func (a *Recorder) CorrectChange(ctx context.Context, call port.Call, name string, at time.Time, reason string) (ChangeView, error) {
	return record(ctx, a, call, "corrected the moment of roll change "+name, func(w port.Writer, _ time.Time) (ChangeView, error) {
		u, err := a.onChange(w, call, name, reason)
		if err != nil {
			return ChangeView{}, err
		}
		at, err := resolveMoment(at, u.now)
		if err != nil {
			return ChangeView{}, err
		}
		if at.Equal(u.view.At) {
			return ChangeView{}, port.Refused(refusal.One("at", port.Moment(at), "is the moment it has in the books", "give the moment when it really was"))
		}
		if err := u.mayMove(at); err != nil {
			return ChangeView{}, err
		}
		return u.view, u.moveTo(at)
	})
}

// mayMove refuses a moment beyond another change of the role in the stand.
func (u *correcting) mayMove(at time.Time) error {
	between, err := changesSince(u.w, u.view.Stand, u.view.Role, earlier(at, u.view.At))
	if err != nil {
		return err
	}
	for _, c := range between {
		if c.Name != u.view.Name && !c.At.After(later(at, u.view.At)) {
			return port.FailNext(next.UndoChange(c.Name), port.Conflicting, "the %s rolls of %s were changed on %s, between the moment in the books and the one given; correct or undo that change first",
				c.Role, c.Stand, port.Moment(c.At))
		}
	}
	return nil
}

// moveTo writes the new moment.
func (u *correcting) moveTo(at time.Time) error {
	before, young, err := u.sets()
	if err != nil {
		return err
	}
	x := exchange{stand: u.stand, role: u.view.Role, from: at, until: u.view.At, out: before, in: young}
	if at.After(u.view.At) {
		x = exchange{stand: u.stand, role: u.view.Role, from: u.view.At, until: at, out: young, in: before, whole: true}
	}
	change := u.view.ChangeRow
	change.At = at
	return u.exchange(x, func(v *revision) error {
		for kind, numbers := range map[roll.Kind][]string{roll.KindWithdrawn: before, roll.KindMounted: young} {
			for _, number := range numbers {
				e, err := v.find(number, func(b roll.Body) bool { return b.Kind() == kind && changeOf(b) == change.Name })
				if err != nil {
					return err
				}
				v.replace(number, e, at, e.Body)
			}
		}
		return nil
	}, func() error {
		u.view.At = at
		return u.w.MoveChange(change)
	}, false)
}
