package record

import (
	"context"
	"slices"
	"strconv"
	"time"

	"barrelbook/api/app/caution"
	"barrelbook/api/app/port"
	"barrelbook/domain/chock"
	"barrelbook/domain/duty"
	"barrelbook/domain/mill"
	"barrelbook/domain/next"
	"barrelbook/domain/roll"
)

// UndoChange takes a roll change that was recorded wrongly out of the books of
// all its rolls again, by corrections: what came out is in as if it had never
// come out, and what went in never went. The change stays in the register,
// marked. NotFound when there is none of the name; Conflicting when something
// has come to rest on it since: a later change of the stand, a piece rolled
// there, a mishap, or an entry in the book of one of its rolls.
func (a *Recorder) UndoChange(ctx context.Context, call port.Call, name, reason string) (ChangeView, error) {
	return record(ctx, a, call, "undid roll change "+name, func(w port.Writer, now time.Time) (ChangeView, error) {
		change, err := w.Change(name)
		if err != nil {
			return ChangeView{}, err
		}
		if err := w.LockStands([]string{change.Stand}); err != nil {
			return ChangeView{}, err
		}
		if change, err = w.Change(name); err != nil {
			return ChangeView{}, err
		}
		if _, now, err = a.dated(w, time.Time{}, change.At); err != nil {
			return ChangeView{}, err
		}
		if err := mayUndo(w, change); err != nil {
			return ChangeView{}, err
		}
		view := ChangeView{ChangeRow: change, Cautions: []string{caution.Limits, caution.Stand}}
		view.UndoneAt, view.UndoneBy, view.UndoneWhy = now, call.Actor, reason
		undo := undoing{app: a, w: w, call: call, now: now, reason: reason, view: &view}
		if err := undo.run(); err != nil {
			return ChangeView{}, err
		}
		return view, w.UndoChange(name, now, call.Actor, reason)
	})
}

// mayUndo holds what must not have happened since.
func mayUndo(r port.Reader, c port.ChangeRow) error {
	if !c.UndoneAt.IsZero() {
		return port.Fail(port.Conflicting, "roll change %s was undone on %s by %s: %s", c.Name, port.Moment(c.UndoneAt), c.UndoneBy, c.UndoneWhy)
	}
	last, err := lastChange(r, c.Stand, c.Role)
	if err != nil {
		return err
	}
	if last.Name != c.Name {
		return port.FailNext(next.UndoChange(last.Name), port.Conflicting, "the %s rolls of %s have been changed since, on %s; undo that change first (%s)", c.Role, c.Stand, port.Moment(last.At), last.Name)
	}
	stand, err := r.Stand(c.Stand)
	if err != nil {
		return err
	}
	piece, err := pieceSince(r, stand, c.At)
	if err != nil || piece.ID == "" {
		return err
	}
	return port.Fail(port.Conflicting, "piece %s was rolled in %s on %s, after the change, and what it did is booked by it; record what is in the stand now as a new change", piece.ID, c.Stand, port.Moment(piece.RolledAt))
}

// lastChange is the newest change of the role in the stand that stands.
func lastChange(r port.Reader, stand string, role mill.Role) (port.ChangeRow, error) {
	page := port.Page{Limit: 50}
	for {
		rows, next, err := r.Changes(stand, page)
		if err != nil {
			return port.ChangeRow{}, err
		}
		for _, c := range rows {
			if c.Role == role && c.UndoneAt.IsZero() {
				return c, nil
			}
		}
		if page.After = next; next == "" {
			return port.ChangeRow{}, nil
		}
	}
}

// pieceSince finds a piece that went through the stand at the moment or after
// it; its ID is empty when there is none.
func pieceSince(r port.Reader, stand mill.Stand, from time.Time) (mill.Piece, error) {
	page := port.Page{Limit: 1} // most often the newest is before the moment, and that is all
	for {
		pieces, next, err := r.Pieces(stand.Mill, page)
		if err != nil {
			return mill.Piece{}, err
		}
		for _, p := range pieces {
			if p.RolledAt.Before(from) {
				return mill.Piece{}, nil // newest first
			}
			if slices.ContainsFunc(p.Passes, func(pass mill.Pass) bool { return pass.Stand == stand.Name }) {
				return p, nil
			}
		}
		if page.After, page.Limit = next, 200; next == "" {
			return mill.Piece{}, nil
		}
	}
}

// undoing is the work of one undo.
type undoing struct {
	app    *Recorder
	w      port.Writer
	call   port.Call
	now    time.Time
	reason string
	view   *ChangeView
}

func (u undoing) run() error {
	in, out, err := u.sets()
	if err != nil {
		return err
	}
	mounted, err := u.w.MountingsSince([]string{u.view.Stand}, u.view.At.Add(-time.Microsecond))
	if err != nil {
		return err
	}
	// Those that went in make way before those that came out are back.
	if in != nil {
		if err := u.takeBackIn(*in, mounted); err != nil {
			return err
		}
	}
	if out != nil {
		return u.takeBackOut(*out, mounted)
	}
	return nil
}

// sets reads the sets of the change, nil where there is none, and locks their
// rolls.
func (u undoing) sets() (in, out *port.SetRow, err error) {
	var rolls []string
	for _, part := range []struct {
		name string
		set  **port.SetRow
	}{{u.view.SetIn, &in}, {u.view.SetOut, &out}} {
		if part.name == "" {
			continue
		}
		set, err := u.w.Set(part.name)
		if err != nil {
			return nil, nil, err
		}
		*part.set = &set
		rolls = append(rolls, set.Top, set.Bottom)
	}
	return in, out, u.w.LockRolls(rolls)
}

func (u undoing) takeBackIn(set port.SetRow, mounted []port.Stay) error {
	for _, number := range []string{set.Top, set.Bottom} {
		if err := u.withdraw(number, roll.KindMounted); err != nil {
			return err
		}
	}
	for _, m := range mounted {
		if m.Set == set.Name && m.WithdrawnAt.IsZero() && m.Position.Role() == u.view.Role {
			if err := u.w.DropMounting(m.ID); err != nil {
				return err
			}
			u.view.In = append(u.view.In, m)
		}
	}
	set.Stand = ""
	return u.w.ReplaceSet(set)
}

func (u undoing) takeBackOut(set port.SetRow, mounted []port.Stay) error {
	if err := chocksLeft(u.w, set, u.view.At); err != nil {
		return err
	}
	for _, number := range []string{set.Top, set.Bottom} {
		if err := u.withdraw(number, roll.KindWithdrawn); err != nil {
			return err
		}
	}
	for _, m := range mounted {
		if m.Set != set.Name || !m.WithdrawnAt.Equal(u.view.At) || m.Position.Role() != u.view.Role {
			continue
		}
		if stated := statedOf(u.view.ChangeRow); stated.Stated {
			less := duty.Usage{TonnageT: -stated.TonnageT, RolledKM: -stated.RolledKM, ExposureKM: -stated.ExposureKM}
			if err := u.w.AddUsage(map[int64]duty.Usage{m.ID: less}); err != nil {
				return err
			}
			m.Usage.Add(less)
		}
		if err := u.w.ReopenMounting(m.ID); err != nil {
			return err
		}
		m.WithdrawnAt, m.Usage.Stated = time.Time{}, false
		u.view.Out = append(u.view.Out, m)
	}
	set.Stand = u.view.Stand
	return u.w.ReplaceSet(set)
}

// chocksLeft refuses when a chock went on or off the set after the moment: in a
// stand it could not have.
func chocksLeft(r port.Reader, set port.SetRow, at time.Time) error {
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
			if fit.Set == set.Name && (fit.From.After(at) || fit.To.After(at)) {
				return port.FailNext(next.ShowChock(row.Name), port.Conflicting, "chock %s went on or off set %s after the change; see its book", row.Name, set.Name)
			}
		}
	}
	return nil
}

// withdraw takes the entry that the change made out of a book. The book itself
// refuses where later entries rest on it; a mishap that the rolls bore does not
// contradict anything, but it would be left to rolls that were never there.
func (u undoing) withdraw(number string, kind roll.Kind) error {
	row, err := u.w.Roll(number)
	if err != nil {
		return err
	}
	book, err := u.w.Book(number)
	if err != nil {
		return err
	}
	effective, err := roll.Effective(book)
	if err != nil {
		return port.BookError(err)
	}
	i := slices.IndexFunc(effective, func(e roll.Entry) bool { return e.Body.Kind() == kind && changeOf(e.Body) == u.view.Name })
	if i < 0 {
		return port.FailNext(next.ShowBook(number), port.Conflicting, "the book of roll %s does not know of change %s", number, u.view.Name)
	}
	for _, e := range effective[i+1:] {
		if mishap, ok := e.Body.(roll.Incident); ok && kind == roll.KindMounted {
			return port.FailNext(next.WithdrawEntry(number, strconv.FormatInt(e.Number, 10)), port.Conflicting, "roll %s bore a mishap in %s on %s (entry %d, %s); withdraw that entry from its book first",
				number, u.view.Stand, port.Moment(e.At), e.Number, mishap.What)
		}
	}
	_, err = u.app.enter(u.w, row, u.call, u.now, u.now, u.reason, roll.Corrected{Entry: effective[i].Number})
	return err
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
