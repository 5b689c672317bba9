package plan

import (
	"barrelbook/api/app/gather"
	"barrelbook/api/app/port"
	"barrelbook/domain/duty"
	"barrelbook/domain/mill"
	"barrelbook/domain/roll"
)

// stateAsOf is what the book said at the moment of the answer: entries and
// corrections written later do not count. It is the zero state where the roll
// was not yet received.
func (c *finishCheck) stateAsOf(number string) (roll.State, error) {
	book, err := c.r.Book(number)
	if err != nil {
		return roll.State{}, err
	}
	var known []roll.Entry
	for _, e := range book {
		if !e.RecordedAt.After(c.now) {
			known = append(known, e)
		}
	}
	state, err := roll.ReplayUntil(known, c.now)
	return state, port.BookError(err)
}

// usageAsOf books again what the pieces rolled up to the moment of the answer
// did in the mountings then open: their usage as it stands holds later pieces
// too. Usage stated by hand comes at the withdrawal, so that none is lost.
func (c *finishCheck) usageAsOf() error {
	earliest := c.now
	for _, rows := range c.mounted {
		for _, m := range rows {
			if m.MountedAt.Before(earliest) {
				earliest = m.MountedAt
			}
		}
	}
	models := map[string]*duty.Stand{}
	for name, rows := range c.mounted {
		for i := range rows {
			rows[i].Usage = duty.Usage{}
		}
		if err := c.modelFor(models, name, rows); err != nil {
			return err
		}
	}
	page := port.Page{Limit: 500}
	for {
		pieces, next, err := c.r.Pieces(c.mill.Name, page)
		if err != nil {
			return err
		}
		for _, p := range pieces {
			if p.RolledAt.Before(earliest) {
				return nil
			}
			if !p.RolledAt.After(c.now) {
				c.book(models, p)
			}
		}
		if next == "" {
			return nil
		}
		page.After = next
	}
}

func (c *finishCheck) modelFor(models map[string]*duty.Stand, name string, rows []port.MountingRow) error {
	for _, stand := range c.stands {
		if stand.Name != name {
			continue
		}
		in := gather.NewStays(c.r, c.models, c.now)
		in.Grades, in.Practices = c.grades, c.practices
		in.Stands[c.mill.Name], in.Mills[c.mill.Name] = map[string]mill.Stand{name: stand}, c.mill
		for _, m := range rows {
			if _, err := c.grade(c.rows[m.Roll].Roll.Grade); err != nil {
				return err
			}
			in.Rolls[m.Roll] = port.RollRow{State: c.rows[m.Roll]}
		}
		setup, err := in.Setup(c.mill.Name, name, rows)
		models[name] = setup
		return err
	}
	return nil
}

// book adds a piece to the mountings it went through. A roll that went in after
// it is passed over.
func (c *finishCheck) book(models map[string]*duty.Stand, p mill.Piece) {
	for k, pass := range p.Passes {
		setup := models[pass.Stand]
		if setup == nil {
			continue
		}
		load, err := setup.Take(p, k)
		if err != nil {
			continue // it was told when the piece came in
		}
		rows := c.mounted[pass.Stand]
		for i := range rows {
			if !p.RolledAt.Before(rows[i].MountedAt) {
				rows[i].Usage.Add(load.Rolls[i])
			}
		}
	}
}
