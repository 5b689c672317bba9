package record

import (
	"maps"
	"slices"
	"time"

	"barrelbook/api/app/gather"
	"barrelbook/api/app/port"
	"barrelbook/domain/duty"
	"barrelbook/domain/mill"
	"barrelbook/domain/next"
	"barrelbook/domain/roll"
)

// rebook is the one way in which what was rolled moves from roll to roll: it
// computes the stays that meet the spans again from all their pieces, and the
// damage and heat of their rolls from the first piece these ever bore, so that
// the end is the same in whatever order things were told.
type rebook struct {
	*stays
	app *Recorder
	now time.Time
	// again are the mountings whose usage is computed, by id, with the change that
	// ended them.
	again map[int64]string
	past  map[int64]duty.Usage // what is told of those carried over from a card
	rolls map[string]bool
	// needs are the times at each stand whose pieces are read.
	needs   map[string][]span
	follows map[int64]bool // the stays that this is for
	// begin is what rolls took into the first stay that is computed.
	begin []port.DamageRow
	took  map[string]map[int64]port.DamageRow
}

// moveUsage books again what was rolled where the mountings are others now.
func (a *Recorder) moveUsage(w port.Writer, now time.Time, s *stays) error {
	if len(s.spans) == 0 {
		return nil
	}
	b := &rebook{app: a, now: now, stays: s, again: map[int64]string{}, past: map[int64]duty.Usage{}, rolls: map[string]bool{}, needs: map[string][]span{}, follows: map[int64]bool{}, took: map[string]map[int64]port.DamageRow{}}
	for number := range s.rows {
		b.rolls[number] = true
	}
	if err := b.touched(); err != nil {
		return err
	}
	// Wherever one of the rolls is, what a piece does to it waits until it is known.
	if err := w.LockStands(slices.Collect(maps.Keys(b.needs))); err != nil {
		return err
	}
	replay, err := b.replay()
	if err != nil {
		return err
	}
	return b.write(replay)
}

// groundOtherwise books again what a roll bore after a grind that is corrected or
// told late: it went in with another diameter or another crown. before is its
// book as it was.
func (a *Recorder) groundOtherwise(w port.Writer, now time.Time, number string, before []roll.Entry) error {
	old, err := roll.Stays(before)
	if err != nil {
		return port.BookError(err)
	}
	book, err := w.Book(number)
	if err != nil {
		return err
	}
	told, err := roll.Stays(book)
	if err != nil {
		return port.BookError(err)
	}
	s, err := followBooks(w, []string{number})
	if err != nil {
		return err
	}
	for i, stay := range told {
		if i < len(old) && (old[i].In.CrownUM != stay.In.CrownUM || !slices.Equal(old[i].In.Measured.Stations, stay.In.Measured.Stations)) {
			s.spans = append(s.spans, span{stand: stay.In.Stand, from: stay.From, until: stay.To})
		}
	}
	return a.moveUsage(w, now, s)
}

// touched finds the rolls that were in a stand over one of the spans, and of each
// the stays to compute: those that meet a span or have other ends now, and those
// after them until it is ground, as it goes in worn.
func (b *rebook) touched() error {
	for _, s := range b.spans {
		rows, err := b.w.MountingsBetween([]string{s.stand}, s.from, s.until)
		if err != nil {
			return err
		}
		for _, m := range rows {
			if s.meets(m) {
				b.rolls[m.Roll] = true
			}
		}
	}
	for number := range b.rolls {
		if err := b.staysOf(number); err != nil {
			return err
		}
	}
	return nil
}

func (b *rebook) staysOf(number string) error {
	book, err := b.w.Book(number)
	if err != nil {
		return err
	}
	told, err := roll.Stays(book)
	if err != nil {
		return port.BookError(err)
	}
	rows, err := gather.MountingsOf(b.w, number)
	if err != nil {
		return err
	}
	var first, since time.Time // the first stay computed again, and the one before
	for _, m := range rows {
		i := slices.IndexFunc(told, func(s roll.Stay) bool { return s.From.Equal(m.MountedAt) && s.In.Stand == m.Stand })
		if i < 0 {
			return port.FailNext(next.ShowBook(number), port.Conflicting, "the book of roll %s does not tell what the stand's register tells", number)
		}
		meets := slices.ContainsFunc(b.spans, func(s span) bool { return s.stand == m.Stand && s.meets(m) }) ||
			slices.ContainsFunc(b.move, func(moved port.Stay) bool { return moved.ID == m.ID })
		if meets || !since.IsZero() && !told[i].In.GroundAt.After(since) {
			if first.IsZero() || m.MountedAt.Before(first) {
				first = m.MountedAt
			}
			b.again[m.ID], since = told[i].ChangeOut, m.MountedAt
			if past := told[i].Past; past != nil {
				b.past[m.ID] = pastUsage(past)
			}
		}
	}
	from, err := b.start(number, rows, earlier(first, b.since()))
	for _, m := range rows[from:] {
		b.follows[m.ID] = true
		b.needs[m.Stand] = append(b.needs[m.Stand], span{stand: m.Stand, from: m.MountedAt, until: m.WithdrawnAt})
	}
	return err
}

// since is when the first span begins: nothing before it is other than it was.
func (b *rebook) since() time.Time {
	return slices.MinFunc(b.spans, func(x, y span) int { return x.from.Compare(y.from) }).from
}

// start is the stay from which a roll is followed: the last one before the moment
// into which it is known what the roll took, else its first.
func (b *rebook) start(number string, rows []port.Stay, until time.Time) (int, error) {
	took, err := b.w.StayDamage(number)
	if err != nil {
		return 0, err
	}
	b.took[number] = map[int64]port.DamageRow{}
	for i := len(rows) - 1; i >= 0; i-- {
		if damage, known := took[rows[i].ID]; known && !rows[i].MountedAt.After(until) {
			b.begin = append(b.begin, damage)
			b.took[number][rows[i].ID] = damage
			return i, nil
		}
	}
	return 0, nil
}

// replay takes all pieces that the rolls ever bore.
func (b *rebook) replay() (*gather.Replay, error) {
	var beside []port.Stay
	byMill := map[string][]span{}
	for name, spans := range b.needs {
		stand, err := b.w.Stand(name)
		if err != nil {
			return nil, err
		}
		byMill[stand.Mill] = append(byMill[stand.Mill], spans...)
		first := slices.MinFunc(spans, func(x, y span) int { return x.from.Compare(y.from) }).from
		rows, err := b.w.MountingsBetween([]string{name}, first, time.Time{})
		if err != nil {
			return nil, err
		}
		for _, m := range rows {
			if slices.ContainsFunc(spans, func(s span) bool { return s.meets(m) }) {
				beside = append(beside, m)
			}
		}
	}
	replay, err := gather.NewReplay(b.w, b.app.models, b.now, beside, b.follows, b.begin)
	if err != nil {
		return nil, err
	}
	return replay, eachPiece(b.w, byMill, func(p mill.Piece) error {
		return replay.Add(p, func(stand string) bool {
			return slices.ContainsFunc(b.needs[stand], func(s span) bool { return s.covers(p.RolledAt) })
		})
	})
}

// write puts the results in the place of what was.
func (b *rebook) write(replay *gather.Replay) error {
	usages := map[int64]duty.Usage{}
	for id, ended := range b.again {
		u := replay.Usage[id]
		u.Add(b.past[id])
		if ended != "" {
			c, err := b.w.Change(ended)
			if err != nil {
				return err
			}
			u.Add(statedOf(c))
		}
		usages[id] = u
	}
	if err := b.w.PutUsage(usages); err != nil {
		return err
	}
	numbers := make([]string, 0, len(b.rolls))
	for number := range b.rolls {
		numbers = append(numbers, number)
	}
	slices.Sort(numbers)
	if err := b.w.SumTotals(numbers, b.since()); err != nil {
		return err
	}
	left := replay.Left()
	if err := b.keepTaken(replay, numbers); err != nil {
		return err
	}
	if err := b.w.PutDamage(left); err != nil {
		return err
	}
	return b.w.RemoveDamage(slices.DeleteFunc(numbers, func(number string) bool {
		return slices.ContainsFunc(left, func(d port.DamageRow) bool { return d.Roll == number })
	}))
}

// keepTaken keeps what the rolls took into their latest stays.
func (b *rebook) keepTaken(replay *gather.Replay, numbers []string) error {
	for _, number := range numbers {
		rows, err := gather.MountingsOf(b.w, number)
		if err != nil {
			return err
		}
		took := b.took[number]
		for _, m := range rows {
			if damage, ok := replay.Taken[m.ID]; ok {
				took[m.ID] = damage
			}
		}
		if err := b.w.PutStayDamage(number, latest(rows, took)); err != nil {
			return err
		}
	}
	return nil
}

// keptStays is how many stays of a roll it is kept for what the roll took into
// them: a record is late by hours or days, not by more than that.
const keptStays = 3

// latest leaves what is known of the last stays of those given, oldest first.
func latest(rows []port.Stay, took map[int64]port.DamageRow) map[int64]port.DamageRow {
	kept := map[int64]port.DamageRow{}
	for i := len(rows) - 1; i >= 0 && len(kept) < keptStays; i-- {
		if damage, known := took[rows[i].ID]; known {
			kept[rows[i].ID] = damage
		}
	}
	return kept
}
