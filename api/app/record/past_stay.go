package record

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"slices"
	"strconv"
	"time"

	"barrelbook/api/app/gather"
	"barrelbook/api/app/port"
	"barrelbook/domain/duty"
	"barrelbook/domain/mill"
	"barrelbook/domain/next"
	"barrelbook/domain/practice"
	"barrelbook/domain/quantity"
	"barrelbook/domain/refusal"
	"barrelbook/domain/roll"
)

// PastStay is a line of a roll's card from before the book was kept: a stay in a
// stand with its totals, and the regrind that followed.
type PastStay struct {
	Roll string
	roll.PastStay
	WithdrawnAt time.Time
	Regrind     *RegrindInput // nil where it was not ground before the next stay
}

// PastStaysAnswer counts what was carried over.
type PastStaysAnswer struct {
	Rolls, Stays, Regrinds int64
	Known                  int64 // lines that were in the books already
	DryRun                 bool
}

// RecordPastStays carries lines of roll cards over into the books, all or none.
// One whose stay is in the book already is passed over, so that sending a file
// again is harmless. Impossible, naming the line, where roll, stand or figures
// cannot be, or two rolls would have been in one place at a time; Conflicting
// where a book tells otherwise.
func (a *Recorder) RecordPastStays(ctx context.Context, call port.Call, lines []PastStay) (PastStaysAnswer, error) {
	answer, err := record(ctx, a, call, fmt.Sprintf("carried over %d past stays", len(lines)), func(w port.Writer, now time.Time) (PastStaysAnswer, error) {
		in := &pastStays{w: w, call: call, now: now, lines: lines, of: map[string][]int{}, answer: PastStaysAnswer{DryRun: call.DryRun}}
		for i, line := range lines {
			in.of[line.Roll] = append(in.of[line.Roll], i)
		}
		if err := w.LockRolls(in.rolls()); err != nil {
			return in.answer, err
		}
		if err := in.check(); err != nil {
			return in.answer, err
		}
		for _, number := range in.rolls() {
			if err := in.enter(number); err != nil {
				return in.answer, err
			}
		}
		if err := in.oneInAPlace(); err != nil {
			return in.answer, err
		}
		return in.answer, w.AddPastStays(in.stays)
	})
	a.Changed.Store(a.Changed.Load() || err == nil && !call.DryRun && answer.Stays > 0)
	return answer, err
}

// pastStays is the work on one body of lines.
type pastStays struct {
	w         port.Writer
	call      port.Call
	now       time.Time
	lines     []PastStay
	of        map[string][]int // lines of each roll
	books     map[string]port.RollRow
	stands    map[string]mill.Stand
	practices []practice.Practice
	stays     []port.Stay // new ones
	from      []int       // the line of each
	answer    PastStaysAnswer
}

func (in *pastStays) rolls() []string {
	numbers := make([]string, 0, len(in.of))
	for number := range in.of {
		numbers = append(numbers, number)
	}
	slices.Sort(numbers)
	return numbers
}

func line(i int) string { return "stays/" + strconv.Itoa(i) + "/" }

// check holds the lines against the works.
func (in *pastStays) check() error {
	rows, err := in.w.RollsByNumber(in.rolls())
	if err != nil {
		return err
	}
	in.books = map[string]port.RollRow{}
	for _, row := range rows {
		in.books[row.State.Roll.Number] = row
	}
	list, err := port.Drain(func(p port.Page) ([]mill.Stand, string, error) { return in.w.Stands("", p) })
	if err != nil {
		return err
	}
	in.stands = map[string]mill.Stand{}
	for _, s := range list {
		in.stands[s.Name] = s
	}
	if in.practices, err = gather.AllPractices(in.w); err != nil {
		return err
	}
	var c refusal.Check
	for i, l := range in.lines {
		in.checkLine(&c, line(i), l)
	}
	return port.Refused(c.Err())
}

func (in *pastStays) checkLine(c *refusal.Check, at string, l PastStay) {
	row, known := in.books[l.Roll]
	if !known {
		c.Add(at+"roll", l.Roll, "has no book", "receive the roll first, as it was before these stays", next.ReceiveRoll())
		return
	}
	switch stand, known := in.stands[l.Stand]; {
	case !known:
		c.Add(at+"stand", l.Stand, "is not a stand", "see the stands", next.ListStands())
	case stand.Mill != row.State.Mill:
		c.Add(at+"stand", l.Stand, "is a stand of mill "+stand.Mill+", and the roll serves mill "+row.State.Mill, "")
	case l.Position.Role() != row.State.Roll.Role || !slices.Contains(stand.Arrangement.Positions(), l.Position):
		c.Add(at+"position", string(l.Position), "is no place for a "+string(row.State.Roll.Role)+" roll in "+l.Stand, "")
	}
	for field, t := range map[string]time.Time{"withdrawn_at": l.WithdrawnAt, "regrind/at": l.groundAt()} {
		if t.After(in.now.Add(port.ClockSkew)) {
			c.Add(at+field, port.Moment(t), "is in the future; it is now "+port.Moment(in.now), "carry over what is past")
		}
	}
	if l.Regrind != nil {
		switch {
		case l.Regrind.At.IsZero():
			c.Add(at+"regrind/at", "", "must be given", "say when it was ground; where only the day is known, any time of it after the stay")
		case l.Regrind.AboveShopK != 0:
			c.Add(at+"regrind/temperature_above_shop_k", refusal.Number(l.Regrind.AboveShopK), "is not taken of a past regrind", "give found as it is at shop temperature")
		}
	}
}

func (l PastStay) groundAt() time.Time {
	if l.Regrind == nil {
		return time.Time{}
	}
	return l.Regrind.At
}

// enter writes the lines of one roll into its book, in the order in which they
// happened.
func (in *pastStays) enter(number string) error {
	row := in.books[number]
	book, err := in.w.Book(number)
	if err != nil {
		return err
	}
	told, err := roll.Stays(book)
	if err != nil {
		return port.BookError(err)
	}
	slices.SortStableFunc(in.of[number], func(i, j int) int { return in.lines[i].From.Compare(in.lines[j].From) })
	p := practice.Resolve(in.practices, gather.CaseOf(row.State))
	var add []roll.Entry
	var from []int // the line of each entry
	put := func(i int, at time.Time, body roll.Body) {
		add = append(add, roll.Entry{Roll: number, Number: row.Version() + int64(len(add)) + 1, At: at.UTC().Truncate(time.Microsecond), RecordedAt: in.now, By: in.call.Actor, Body: body})
		from = append(from, i)
	}
	for _, i := range in.of[number] {
		l := in.lines[i]
		l.From = l.From.UTC().Truncate(time.Microsecond)
		if slices.ContainsFunc(told, func(s roll.Stay) bool { return s.In.Stand == l.Stand && s.From.Equal(l.From) }) {
			in.answer.Known++
			continue
		}
		put(i, l.WithdrawnAt, l.PastStay)
		if l.Regrind != nil {
			body, err := pastRegrind(row.State.Roll, p, *l.Regrind)
			if err != nil {
				return inPart(line(i)+"regrind/", err)
			}
			put(i, l.Regrind.At, body)
			in.answer.Regrinds++
		}
	}
	if len(add) == 0 {
		return nil
	}
	after, err := roll.AppendAll(book, add)
	if err != nil {
		return atLine(err, add, from)
	}
	if err := in.w.AppendAll(row, add, after); err != nil {
		return err
	}
	in.answer.Rolls++
	return in.keep(number, append(book, add...), from)
}

// atLine names the line whose entry a book refuses.
func atLine(err error, add []roll.Entry, from []int) error {
	var c *roll.Conflict
	if errors.As(err, &c) {
		if i := c.Entry.Number - add[0].Number; i >= 0 && int(i) < len(from) {
			part := line(from[i])
			if c.Entry.Body.Kind() == roll.KindReground {
				part += "regrind/"
			}
			return inPart(part, port.BookError(&roll.Conflict{Roll: c.Roll, Entry: c.Entry, InTheWay: c.InTheWay, Why: fmt.Sprintf("line %d: %s", from[i]+1, c.Why), Do: c.Do, Next: c.Next, Field: c.Field}))
		}
	}
	return port.BookError(err)
}

// keep notes the stays that the new entries tell, as the roll went into them.
func (in *pastStays) keep(number string, book []roll.Entry, from []int) error {
	told, err := roll.Stays(book)
	if err != nil {
		return port.BookError(err)
	}
	known := len(in.stays)
	for _, s := range told {
		if s.Past == nil {
			continue
		}
		for _, i := range from {
			if l := in.lines[i]; s.In.Stand == l.Stand && s.From.Equal(l.From) && !slices.ContainsFunc(in.stays[known:], func(m port.Stay) bool { return m.Stand == l.Stand && m.MountedAt.Equal(s.From) }) {
				m := mountingOf(number, s)
				m.Usage = pastUsage(s.Past)
				in.stays, in.from = append(in.stays, m), append(in.from, i)
				in.answer.Stays++
			}
		}
	}
	return nil
}

// oneInAPlace refuses two rolls in one place at a time.
func (in *pastStays) oneInAPlace() error {
	type use struct {
		port.Stay
		line int // of the new ones, from 0; -1 of those that were known
	}
	places := map[string][]use{}
	var stands []string
	first := in.now
	for k, m := range in.stays {
		if place := m.Stand + " " + string(m.Position); true {
			places[place] = append(places[place], use{m, in.from[k]})
		}
		stands = append(stands, m.Stand)
		if m.MountedAt.Before(first) {
			first = m.MountedAt
		}
	}
	slices.Sort(stands)
	known, err := in.w.MountingsBetween(slices.Compact(stands), first, time.Time{})
	if err != nil {
		return err
	}
	for _, m := range known {
		place := m.Stand + " " + string(m.Position)
		places[place] = append(places[place], use{m, -1})
	}
	var c refusal.Check
	for _, uses := range places {
		slices.SortFunc(uses, func(x, y use) int { return cmp.Or(x.MountedAt.Compare(y.MountedAt), x.line-y.line) })
		for k := 1; k < len(uses); k++ {
			was, now := uses[k-1], uses[k]
			if max(was.line, now.line) < 0 || !was.WithdrawnAt.IsZero() && !was.WithdrawnAt.After(now.MountedAt) {
				continue
			}
			field, other := "mounted_at", was
			at := now
			if now.line < 0 {
				field, at, other = "withdrawn_at", was, now
			}
			c.Add(line(at.line)+field, port.Moment(now.MountedAt), fmt.Sprintf("two rolls in one place: %s was in %s (%s) from %s", other.Roll, other.Stand, other.Position, port.Moment(other.MountedAt)), "check stand, position and moments")
		}
	}
	return port.Refused(c.Err())
}

// pastRegrind is the body of a past regrind. What wore and cracked is as it is
// told: there are no pieces to compute it from.
func pastRegrind(r roll.Roll, p practice.InForce, in RegrindInput) (roll.Reground, error) {
	tests, err := judgedBy(p, in.Tests)
	if err != nil {
		return roll.Reground{}, err
	}
	if err := onBarrel(r, in.Measures, tests); err != nil {
		return roll.Reground{}, err
	}
	b := roll.Reground{Found: in.Found, FoundAsRead: in.Found, Ground: in.Ground, GaugeUncertainty: p.Micrometres(practice.GaugeUncertaintyUM), MaxPlausible: p.Millimetres(practice.MaxPlausibleStockMM),
		For: in.For, Measures: in.Measures, FoundStations: in.FoundStations, Grinder: in.Grinder, Tests: tests, Confirm: in.Confirm, Note: in.Note}
	if in.GrooveWornUM != nil && r.Grooved() {
		b.GrooveWorn = quantity.Micrometre(*in.GrooveWornUM)
	}
	return b, nil
}

func pastUsage(p *roll.PastStay) duty.Usage {
	u := stated(p.TonnageT, p.RolledKM, p.SpecificForceKNPerMM)
	u.Pieces = p.Pieces
	return u
}

// stated is a usage told in totals.
func stated(tonnageT, rolledKM, specificForceKNPerMM float64) duty.Usage {
	return duty.Usage{TonnageT: tonnageT, RolledKM: rolledKM, ExposureKM: rolledKM * specificForceKNPerMM / 10, Stated: tonnageT > 0 || rolledKM > 0}
}
