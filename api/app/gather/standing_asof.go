package gather

import (
	"barrelbook/api/app/port"
	"barrelbook/domain/duty"
	"barrelbook/domain/mill"
	"barrelbook/domain/roll"
)

// stateAsOf is what the book said at the moment of the answer: entries and
// corrections written later do not count. It is the zero state where the roll
// was not yet received.
func (g *Standing) stateAsOf(number string) (roll.State, error) {
	book, err := g.r.Book(number)
	if err != nil {
		return roll.State{}, err
	}
	var known []roll.Entry
	for _, e := range book {
		if !e.RecordedAt.After(g.Now) {
			known = append(known, e)
		}
	}
	state, err := roll.ReplayUntil(known, g.Now)
	return state, port.BookError(err)
}

// usageAsOf books again what the pieces rolled up to the moment of the answer
// did in the mountings then open: their usage as it stands holds later pieces
// too. Usage stated by hand comes at the withdrawal, so that none is lost.
func (g *Standing) usageAsOf(stands []mill.Stand) error {
	earliest := g.Now
	for _, rows := range g.Mounted {
		for _, m := range rows {
			if m.MountedAt.Before(earliest) {
				earliest = m.MountedAt
			}
		}
	}
	models := map[string]*duty.Stand{}
	for name, rows := range g.Mounted {
		for i := range rows {
			rows[i].Usage = duty.Usage{}
		}
		if err := g.modelFor(stands, models, name, rows); err != nil {
			return err
		}
	}
	page := port.Page{Limit: 500}
	for {
		pieces, next, err := g.r.Pieces(g.mill.Name, page)
		if err != nil {
			return err
		}
		for _, p := range pieces {
			if p.RolledAt.Before(earliest) {
				return nil
			}
			if !p.RolledAt.After(g.Now) {
				g.book(models, p)
			}
		}
		if next == "" {
			return nil
		}
		page.After = next
	}
}

func (g *Standing) modelFor(stands []mill.Stand, models map[string]*duty.Stand, name string, rows []port.Stay) error {
	for _, stand := range stands {
		if stand.Name != name {
			continue
		}
		in := NewStays(g.r, g.models, g.Now)
		in.Grades, in.Practices = g.grades, g.Practices
		in.Stands[g.mill.Name], in.Mills[g.mill.Name] = map[string]mill.Stand{name: stand}, g.mill
		for _, m := range rows {
			if _, err := g.grade(g.States[m.Roll].Roll.Grade); err != nil {
				return err
			}
			in.Rolls[m.Roll] = port.RollRow{State: g.States[m.Roll]}
		}
		setup, err := in.Setup(g.mill.Name, name, rows)
		models[name] = setup
		return err
	}
	return nil
}

// book adds a piece to the mountings it went through. A roll that went in after
// it is passed over.
func (g *Standing) book(models map[string]*duty.Stand, p mill.Piece) {
	for k, pass := range p.Passes {
		setup := models[pass.Stand]
		if setup == nil {
			continue
		}
		load, err := setup.Take(p, k)
		if err != nil {
			continue // it was told when the piece came in
		}
		rows := g.Mounted[pass.Stand]
		for i := range rows {
			if !p.RolledAt.Before(rows[i].MountedAt) {
				rows[i].Usage.Add(load.Rolls[i])
			}
		}
	}
}
