package record

import (
	"slices"
	"time"

	"barrelbook/api/app/gather"
	"barrelbook/api/app/port"
	"barrelbook/domain/duty"
	"barrelbook/domain/roll"
)

// span is a time at a stand in which other rolls were in it, or rolls of another
// diameter, than had been booked. until is zero for no end.
type span struct {
	stand       string
	from, until time.Time
}

func (s span) covers(at time.Time) bool {
	return !at.Before(s.from) && (s.until.IsZero() || at.Before(s.until))
}

// meets says whether a mounting was in over part of the span.
func (s span) meets(m port.Stay) bool {
	return (s.until.IsZero() || m.MountedAt.Before(s.until)) && (m.WithdrawnAt.IsZero() || m.WithdrawnAt.After(s.from))
}

// stays brings the mountings of rolls in line with their books.
type stays struct {
	w     port.Writer
	spans []span // where they were not
	drop  []int64
	// dropped are the rolls of those.
	dropped map[string]bool
	move    []port.Stay
	open    []port.Stay
	// rows are the mountings of each roll after it, oldest first.
	rows map[string][]port.Stay
}

// followBooks compares the mountings of rolls with their books, and writes those
// that are others.
func followBooks(w port.Writer, rolls []string) (*stays, error) {
	s := &stays{w: w, dropped: map[string]bool{}, rows: map[string][]port.Stay{}}
	for _, number := range rolls {
		if err := s.compare(number); err != nil {
			return nil, err
		}
	}
	if err := s.write(); err != nil {
		return nil, err
	}
	for _, number := range rolls {
		var err error
		if s.rows[number], err = gather.MountingsOf(w, number); err != nil {
			return nil, err
		}
	}
	return s, nil
}

func (s *stays) compare(number string) error {
	book, err := s.w.Book(number)
	if err != nil {
		return err
	}
	told, err := roll.Stays(book)
	if err != nil {
		return port.BookError(err)
	}
	rows, err := gather.MountingsOf(s.w, number)
	if err != nil {
		return err
	}
	// One that began when the book says is the same; so is one at the same place
	// that began at another moment.
	same := func(was, now port.Stay) bool { return was.MountedAt.Equal(now.MountedAt) }
	moved := func(was, now port.Stay) bool {
		return was.Set == now.Set && span{from: now.MountedAt, until: now.WithdrawnAt}.meets(was)
	}
	for _, fits := range []func(was, now port.Stay) bool{same, moved} {
		told = slices.DeleteFunc(told, func(stay roll.Stay) bool {
			now := mountingOf(number, stay)
			i := slices.IndexFunc(rows, func(was port.Stay) bool {
				return was.Stand == now.Stand && was.Position == now.Position && fits(was, now)
			})
			if i >= 0 {
				now.ID = rows[i].ID
				s.changed(rows[i], now)
				rows = slices.Delete(rows, i, i+1)
			}
			return i >= 0
		})
	}
	for _, stay := range told {
		now := mountingOf(number, stay)
		s.open = append(s.open, now)
		s.spans = append(s.spans, span{stand: now.Stand, from: now.MountedAt, until: now.WithdrawnAt})
	}
	for _, was := range rows {
		s.drop, s.dropped[number] = append(s.drop, was.ID), true
		s.spans = append(s.spans, span{stand: was.Stand, from: was.MountedAt, until: was.WithdrawnAt})
	}
	return nil
}

func mountingOf(number string, s roll.Stay) port.Stay {
	return port.Stay{Roll: number, Stand: s.In.Stand, Position: s.In.Position, Set: s.In.Set, MountedAt: s.From, WithdrawnAt: s.To, Diameter: s.In.Diameter}
}

// changed notes what is different in a mounting.
func (s *stays) changed(was, now port.Stay) {
	if was.Diameter == now.Diameter && was.MountedAt.Equal(now.MountedAt) && was.WithdrawnAt.Equal(now.WithdrawnAt) {
		return
	}
	s.move = append(s.move, now)
	if was.Diameter != now.Diameter {
		s.spans = append(s.spans, span{stand: now.Stand, from: earlier(was.MountedAt, now.MountedAt), until: later(was.WithdrawnAt, now.WithdrawnAt)})
		return
	}
	if !was.MountedAt.Equal(now.MountedAt) {
		s.spans = append(s.spans, span{stand: now.Stand, from: earlier(was.MountedAt, now.MountedAt), until: later(was.MountedAt, now.MountedAt)})
	}
	if !was.WithdrawnAt.Equal(now.WithdrawnAt) {
		s.spans = append(s.spans, span{stand: now.Stand, from: earlier(was.WithdrawnAt, now.WithdrawnAt), until: later(was.WithdrawnAt, now.WithdrawnAt)})
	}
}

// earlier is the earlier of two ends, of which zero is none.
func earlier(a, b time.Time) time.Time {
	if later(a, b).Equal(a) {
		return b
	}
	return a
}

// later is the later of two ends, zero for none.
func later(a, b time.Time) time.Time {
	if a.IsZero() || b.IsZero() {
		return time.Time{}
	}
	if a.After(b) {
		return a
	}
	return b
}

// write makes room before it fills it: a place has one roll and a roll one place.
func (s *stays) write() error {
	for _, id := range s.drop {
		if err := s.w.RemoveMounting(id); err != nil {
			return err
		}
	}
	for _, out := range []bool{true, false} {
		for _, m := range s.move {
			if m.WithdrawnAt.IsZero() == out {
				continue
			}
			if err := s.w.MoveMounting(m); err != nil {
				return err
			}
		}
	}
	for i, m := range s.open {
		id, err := s.w.OpenMounting(m)
		if err != nil {
			return err
		}
		s.open[i].ID = id
		if err := s.take(m, id); err != nil {
			return err
		}
	}
	return nil
}

// take keeps what a roll took into a stay that comes after all its others. Where
// something else of it moved too, what it has is not known until it is booked
// again.
func (s *stays) take(m port.Stay, id int64) error {
	of := func(row port.Stay) bool { return row.Roll == m.Roll }
	if !m.WithdrawnAt.IsZero() || s.dropped[m.Roll] || slices.ContainsFunc(s.move, of) {
		return nil
	}
	now, err := s.w.Damage([]string{m.Roll})
	if err != nil || len(now) == 0 {
		return err
	}
	rows, _, err := s.w.Mountings(m.Roll, port.Page{Limit: 2 * keptStays})
	if err != nil {
		return err
	}
	slices.Reverse(rows)
	took, err := s.w.StayDamage(m.Roll)
	if err != nil {
		return err
	}
	took[id] = now[0]
	return s.w.PutStayDamage(m.Roll, latest(rows, took))
}

// settle brings the mountings and sets of an exchange in line with the books, and
// with again what was rolled, and gives the mountings of its rolls. stated is
// what was stated of the rolls that came out in time.
func (x exchange) settle(a *Recorder, w port.Writer, now time.Time, again bool, stated duty.Usage) (map[string][]port.Stay, error) {
	rolls := append(slices.Clone(x.out), x.in...)
	s, err := followBooks(w, rolls)
	if err != nil {
		return nil, err
	}
	switch {
	case again:
		err = a.moveUsage(w, now, s)
	case stated.Stated:
		additions := map[int64]duty.Usage{}
		for _, number := range x.out {
			for _, m := range s.rows[number] {
				if m.Stand == x.stand.Name && m.WithdrawnAt.Equal(x.from) {
					additions[m.ID] = stated
				}
			}
		}
		err = w.AddUsage(additions)
	}
	if err != nil {
		return nil, err
	}
	for _, number := range rolls {
		if err := placeSetOf(w, number); err != nil {
			return nil, err
		}
		if s.rows[number], err = gather.MountingsOf(w, number); err != nil {
			return nil, err
		}
	}
	return s.rows, nil
}

// placeSetOf writes where the sets of a roll are: the one it is in now.
func placeSetOf(w port.Writer, number string) error {
	row, err := w.Roll(number)
	if err != nil || row.State.Set == "" {
		return err
	}
	set, err := w.Set(row.State.Set)
	if err != nil || set.Stand == row.State.Stand {
		return err
	}
	set.Stand = row.State.Stand
	return w.ReplaceSet(set)
}
