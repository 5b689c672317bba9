package record

import (
	"time"

	"barrelbook/api/app/gather"
	"barrelbook/api/app/port"
	"barrelbook/domain/mill"
	"barrelbook/domain/next"
	"barrelbook/domain/roll"
)

// turn is a place among the changes of one role in a stand.
type turn struct {
	stand  mill.Stand
	in     []port.Stay    // the rolls of the role that were in
	others []port.Stay    // those of other roles
	next   port.ChangeRow // the change after it, without a name where there is none
}

// turnAt reads who was in just before the moment, and what came next.
func turnAt(r port.Reader, stand mill.Stand, role mill.Role, at time.Time) (turn, error) {
	t := turn{stand: stand}
	rows, err := r.MountingsAt([]string{stand.Name}, at)
	if err != nil {
		return t, err
	}
	for _, m := range rows {
		switch {
		case m.Position.Role() != role:
			t.others = append(t.others, m)
		case m.MountedAt.Before(at):
			t.in = append(t.in, m)
		}
	}
	changes, err := changesSince(r, stand.Name, role, at)
	for _, c := range changes {
		// One of the same moment that emptied the place came before.
		if !c.At.Equal(at) || c.SetIn != "" {
			t.next = c
			break
		}
	}
	return t, err
}

func (t turn) setIn() string {
	if len(t.in) > 0 {
		return t.in[0].Set
	}
	return ""
}

// takes says why a change cannot take this place.
func (t turn) takes(c port.ChangeRow) error {
	switch n := t.next; {
	case c.SetOut == "" && c.SetIn == "":
		return port.Fail(port.Conflicting, "there is no %s roll in %s to take out and no set was named to go in", c.Role, c.Stand)
	case c.SetOut == c.SetIn:
		return port.Fail(port.Conflicting, "set %s is in %s already, since %s", c.SetIn, c.Stand, port.Moment(t.in[0].MountedAt))
	case n.Name == "":
		return nil
	case n.At.Equal(c.At) && n.SetIn == c.SetIn:
		return port.Fail(port.Conflicting, "set %s is in %s already, since %s", c.SetIn, c.Stand, port.Moment(n.At))
	case n.At.Equal(c.At):
		return port.FailNext(next.UndoChange(n.Name), port.Conflicting, "a change of the %s rolls of %s at that moment is in the books: set %s is in it since %s; check the moment, or undo that change first",
			c.Role, c.Stand, n.SetIn, port.Moment(n.At))
	case c.SetIn == "" && n.SetIn == "":
		return port.FailNext(next.CorrectChange(n.Name), port.Conflicting, "the %s rolls of %s came out on %s by the books, after the moment given; say when it really was", c.Role, c.Stand, port.Moment(n.At))
	case n.SetIn != "" && n.SetIn == c.SetIn:
		return port.FailNext(next.CorrectChange(n.Name), port.Conflicting, "set %s went into %s on %s by the books, after the moment given; say when it really was", n.SetIn, c.Stand, port.Moment(n.At))
	}
	return nil
}

// changesSince are the changes of the role in the stand from the moment on that
// stand, oldest first.
func changesSince(r port.Reader, stand string, role mill.Role, at time.Time) (list []port.ChangeRow, err error) {
	for page := (port.Page{Limit: 50}); ; {
		rows, next, err := r.Changes(stand, page)
		if err != nil {
			return nil, err
		}
		for _, c := range rows {
			if c.At.Before(at) {
				return list, nil // newest first
			}
			if c.Role == role && c.UndoneAt.IsZero() {
				list = append([]port.ChangeRow{c}, list...)
			}
		}
		if page.After = next; next == "" {
			return list, nil
		}
	}
}

// setAt is a set with its rolls as they were at a moment.
func setAt(r port.Reader, shop *gather.Shop, set port.SetRow, at time.Time) (gather.SetView, error) {
	var states [2]roll.State
	for i, number := range []string{set.Top, set.Bottom} {
		row, err := r.Roll(number)
		if err != nil {
			return gather.SetView{}, err
		}
		if states[i], err = stateBefore(r, row.State, at); err != nil {
			return gather.SetView{}, err
		}
	}
	set.Stand = ""
	if states[0].Set == set.Name {
		set.Stand = states[0].Stand
	}
	if set.BrokenAt.After(at) {
		set.BrokenAt = time.Time{}
	}
	return shop.ViewSet(set, states[0], states[1], at)
}
