package record

import (
	"context"
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"barrelbook/api/app/gather"
	"barrelbook/api/app/port"
	"barrelbook/domain/duty"
	"barrelbook/domain/mill"
	"barrelbook/domain/roll"
	"barrelbook/domain/wear"
)

// Misfit is a figure kept that books and pieces do not give.
type Misfit struct{ Table, Key, Why string }

const (
	// sameSum is how far two sums of the same figures may be apart, relatively: they
	// were added in another order.
	sameSum = 1e-9
	// sameLoad is that for what hangs on the load along the barrels, which is solved
	// for groups of pieces as they came.
	sameLoad = 0.1
)

// Recount replays what rolls bore from the books and the pieces, and holds it
// against what is kept: the pieces, tonnes and kilometres of every stay, and the
// totals of every roll; and wear, pressure and damage of the stays that were
// reckoned by this program with the practices of now, which are those that were
// recorded after it first wrote and the last practice or stand was changed. It
// writes nothing.
func (a *Recorder) Recount(ctx context.Context) (found []Misfit, err error) {
	err = a.store.Read(ctx, func(r port.Reader) error {
		c := &recount{app: a, r: r, counted: map[int64]duty.Usage{}, rolls: map[string][]port.Stay{}, said: map[int64]duty.Usage{}, fresh: map[int64]bool{}, clean: map[int64]bool{}}
		if err := c.open(); err != nil {
			return err
		}
		if err := c.count(); err != nil {
			return err
		}
		if err := c.compare(); err != nil {
			return err
		}
		if err := c.reckon(); err != nil {
			return err
		}
		found = c.found
		return nil
	})
	return found, err
}

type recount struct {
	app     *Recorder
	r       port.Reader
	now     time.Time
	in      *gather.Stays
	mills   []mill.Mill
	density map[string]float64
	counted map[int64]duty.Usage // by mounting, of its pieces
	rolls   map[string][]port.Stay
	order   []string
	said    map[int64]duty.Usage // by mounting, stated by hand
	// fresh are the stays recorded after a practice or a stand was last changed, and
	// after the id from which on this program reckoned: all that they bore was booked
	// after that, or booked again. clean are those of which
	// all pieces were rolled with fresh ones.
	after        int64
	fresh, clean map[int64]bool
	found        []Misfit
}

func (c *recount) add(table, key, why string, args ...any) {
	c.found = append(c.found, Misfit{Table: table, Key: key, Why: fmt.Sprintf(why, args...)})
}

// open reads who was in the stands of every mill.
func (c *recount) open() (err error) {
	c.now, c.density = c.app.clock.Now(), map[string]float64{}
	if c.mills, err = port.Drain(c.r.Mills); err != nil {
		return err
	}
	c.in = gather.NewStays(c.r, c.app.models, c.now)
	for _, m := range c.mills {
		c.density[m.Name] = m.Density()
		stands, err := port.Drain(func(p port.Page) ([]mill.Stand, string, error) { return c.r.Stands(m.Name, p) })
		if err != nil {
			return err
		}
		names := make([]string, len(stands))
		for i, s := range stands {
			names[i] = s.Name
		}
		stays, err := c.r.MountingsBetween(names, time.Time{}, time.Time{})
		if err != nil {
			return err
		}
		c.in.Mountings = append(c.in.Mountings, stays...)
	}
	for _, m := range c.in.Mountings {
		if c.rolls[m.Roll] == nil {
			c.order = append(c.order, m.Roll)
		}
		c.rolls[m.Roll] = append(c.rolls[m.Roll], m)
	}
	since, err := c.lastPractice()
	if err != nil {
		return err
	}
	if c.after, err = c.r.ReckonedAfter(); err != nil {
		return err
	}
	for _, number := range c.order {
		if err := c.read(number, since); err != nil {
			return err
		}
	}
	return nil
}

// read finds the stays of a roll in its book: what was stated of them, and whether
// they were recorded after a moment.
func (c *recount) read(number string, since time.Time) error {
	book, err := c.r.Book(number)
	if err != nil {
		return err
	}
	told, err := roll.Stays(book)
	if err != nil {
		return port.BookError(err)
	}
	effective, err := roll.Effective(book)
	if err != nil {
		return port.BookError(err)
	}
	for _, m := range c.rolls[number] {
		if c.said[m.ID], err = c.stated(told, m); err != nil {
			return err
		}
		c.fresh[m.ID] = slices.ContainsFunc(effective, func(e roll.Entry) bool {
			_, in := e.Body.(roll.Mounted)
			return in && m.ID > c.after && e.At.Equal(m.MountedAt) && e.RecordedAt.After(since)
		})
		c.clean[m.ID] = c.fresh[m.ID]
	}
	return nil
}

// lastPractice is when a practice or a stand was last changed, as the audit tells.
func (c *recount) lastPractice() (time.Time, error) {
	for page := (port.Page{Limit: 500}); ; {
		lines, next, err := c.r.Audit(port.AuditFilter{}, page)
		if err != nil {
			return time.Time{}, err
		}
		for _, l := range lines {
			for _, what := range []string{"added practice ", "changed practice ", "changed stand "} {
				if strings.HasPrefix(l.What, what) {
					return l.At, nil
				}
			}
		}
		if page.After = next; next == "" {
			return time.Time{}, nil
		}
	}
}

// pieces gives all pieces of all mills by time.
func (c *recount) pieces(since time.Time, do func(mill.Piece) error) error {
	spans := map[string][]span{}
	for _, m := range c.mills {
		spans[m.Name] = []span{{from: since}}
	}
	return eachPiece(c.r, spans, func(p mill.Piece) error {
		if err := c.r.Err(); err != nil {
			return err
		}
		return do(p)
	})
}

// count sums what needs no model.
func (c *recount) count() error {
	return c.pieces(time.Time{}, func(p mill.Piece) error {
		through := map[string]bool{}
		for _, pass := range p.Passes {
			km, err := wear.RolledKM(p.MassT, pass.WidthMM, pass.ExitThicknessMM, c.density[p.Mill])
			if err != nil {
				continue // it was told when the piece came in
			}
			mounted := c.in.MountedAt(pass.Stand, p.RolledAt)
			all := true
			for _, m := range mounted {
				all = all && c.fresh[m.ID]
			}
			for _, m := range mounted {
				u := c.counted[m.ID]
				if u.RolledKM += km; !through[pass.Stand] {
					u.Pieces++
					u.TonnageT += p.MassT
				}
				c.counted[m.ID] = u
				c.clean[m.ID] = c.clean[m.ID] && all
			}
			through[pass.Stand] = true
		}
		return nil
	})
}

// compare holds every stay against its pieces and what was stated, and every roll
// against its stays.
func (c *recount) compare() error {
	for _, number := range c.order {
		row, err := c.r.Roll(number)
		if err != nil {
			return err
		}
		var total duty.Usage
		for _, m := range c.rolls[number] {
			total.Add(m.Usage)
			u := c.counted[m.ID]
			u.Add(c.said[m.ID])
			if u.Pieces != m.Usage.Pieces || apart(u.TonnageT, m.Usage.TonnageT, sameSum) || apart(u.RolledKM, m.Usage.RolledKM, sameSum) {
				c.add("mountings", staysKey(m), "its pieces and what was stated are %d pieces, %.3f t and %.3f km; kept are %d, %.3f t and %.3f km",
					u.Pieces, u.TonnageT, u.RolledKM, m.Usage.Pieces, m.Usage.TonnageT, m.Usage.RolledKM)
			}
		}
		if u := row.Totals; u.Pieces != total.Pieces || u.Stated != total.Stated || apart(u.TonnageT, total.TonnageT, sameSum) || apart(u.RolledKM, total.RolledKM, sameSum) ||
			apart(u.Revolutions, total.Revolutions, sameSum) || apart(u.ExposureKM, total.ExposureKM, sameSum) || apart(u.MaxForceKN, total.MaxForceKN, sameSum) ||
			apart(u.MaxPeakPressureMPa, total.MaxPeakPressureMPa, sameSum) || apart(u.DeepestWearUM(), total.DeepestWearUM(), sameSum) {
			c.add("roll_states", number, "its totals are not the sum of its stays: %d pieces and %.3f t, and in its stays %d and %.3f t", u.Pieces, u.TonnageT, total.Pieces, total.TonnageT)
		}
	}
	return nil
}

// stated is what was said by hand of a stay.
func (c *recount) stated(told []roll.Stay, m port.Stay) (duty.Usage, error) {
	for _, s := range told {
		switch {
		case !s.From.Equal(m.MountedAt):
		case s.Past != nil && s.Past.Stand == m.Stand:
			return pastUsage(s.Past), nil
		case s.ChangeOut != "" && s.In.Stand == m.Stand:
			change, err := c.r.Change(s.ChangeOut)
			return statedOf(change), err
		}
	}
	return duty.Usage{}, nil
}

func staysKey(m port.Stay) string {
	return fmt.Sprintf("roll %s in %s from %s", m.Roll, m.Stand, port.Moment(m.MountedAt))
}

// apart says whether two figures differ by more than a part of the greater.
func apart(a, b, part float64) bool {
	return math.Abs(a-b) > part*max(math.Abs(a), math.Abs(b), 1e-6)
}
