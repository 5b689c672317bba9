package record

import (
	"context"
	"errors"
	"strconv"
	"time"

	"barrelbook/api/app/caution"
	"barrelbook/api/app/gather"
	"barrelbook/api/app/port"
	"barrelbook/domain/next"
	"barrelbook/domain/practice"
	"barrelbook/domain/refusal"
	"barrelbook/domain/release"
	"barrelbook/domain/roll"
)

// RollView is a roll as a person wants to see it.
type RollView struct {
	port.RollRow
	Fitness  release.Verdict
	Mounting *port.Stay // the stay it is in now
	Grooves  []gather.GrooveState
	Contour  *gather.ContourView // nil where it was not measured
	Damage   *gather.RollDamage  // nil where none was ever counted
	Borne    *gather.Borne       // since its grind, of a roll in a stand
	Cautions []string
}

// view joins a roll's row with its fitness and the mounting it is in.
func (a *Recorder) view(r port.Reader, row port.RollRow, shop *gather.Shop, now time.Time) (RollView, error) {
	partner, err := gather.PartnerOf(r, row.State)
	if err != nil {
		return RollView{}, err
	}
	practices := shop.Practices
	v := RollView{RollRow: row, Cautions: caution.For(row.State)}
	if v.Fitness, err = shop.Judge(row.State, partner, now); err != nil {
		return RollView{}, err
	}
	if v.Grooves, err = gather.GrooveStates(r, row.State, practice.Resolve(practices, gather.CaseOf(row.State))); err != nil {
		return RollView{}, err
	}
	v.Contour = gather.Deviation(row.State, practice.Resolve(practices, gather.CaseOf(row.State)))
	if v.Damage, _, err = gather.DamageOf(r, row, practice.Resolve(practices, gather.CaseOf(row.State))); err != nil {
		return RollView{}, err
	}
	if row.State.Stage != roll.StageMounted {
		return v, nil
	}
	mountings, err := r.MountingsAt([]string{row.State.Stand}, port.EndOfTime)
	if err != nil {
		return RollView{}, err
	}
	for _, m := range mountings {
		if m.Roll == row.State.Roll.Number {
			v.Mounting = &m
		}
	}
	borne, err := a.planner.Borne(r, []roll.State{row.State}, practices)
	v.Borne = borne[row.State.Roll.Number]
	v.Fitness = v.Borne.Over(v.Fitness)
	return v, err
}

// Roll shows a roll. NotFound when there is no such book.
func (a *Recorder) Roll(ctx context.Context, number string) (RollView, error) {
	v, _, err := a.FreshRoll(ctx, number)
	return v, err
}

// FreshRoll shows a roll and says for how long that is fresh, nil where it cannot be
// said. NotFound when there is no such book.
func (a *Recorder) FreshRoll(ctx context.Context, number string) (v RollView, fresh *Fresh, err error) {
	learned := false
	for {
		err = a.store.Read(ctx, func(r port.Reader) error {
			row, err := r.Roll(number)
			if err != nil {
				return err
			}
			if row.State.Stage == roll.StageMounted && !learned {
				return errLearnFirst
			}
			now, rates := a.clock.Now(), a.planner.RatesVersion()
			shop, err := gather.OpenShop(r, now)
			if err != nil {
				return err
			}
			if v, err = a.view(r, row, shop, now); err != nil {
				return err
			}
			fresh, err = a.freshness(r, v, shop, rates)
			return err
		})
		if !errors.Is(err, errLearnFirst) {
			return v, fresh, err
		}
		// Only what is in a stand is shown by the rates, and they are not learned in
		// a transaction.
		if err := a.planner.Learn(ctx); err != nil {
			return RollView{}, nil, err
		}
		learned = true
	}
}

var errLearnFirst = errors.New("the rates of a mounted roll are learned first")

// RollAsOf shows a roll as its book, with what was corrected since, tells it for
// a past moment. What it had borne by then is not replayed: totals are left out.
func (a *Recorder) RollAsOf(ctx context.Context, number string, at time.Time) (RollView, error) {
	var v RollView
	err := a.store.Read(ctx, func(r port.Reader) error {
		book, err := r.Book(number)
		if err != nil {
			return err
		}
		s, err := roll.ReplayUntil(book, at)
		if err != nil {
			return port.BookError(err)
		}
		if s.Stage == "" {
			return port.Fail(port.NotFound, "roll %s was not yet received on %s", number, at.Format(time.RFC3339))
		}
		shop, err := gather.OpenShop(r, at)
		if err != nil {
			return err
		}
		v = RollView{RollRow: port.RollRow{State: s}, Cautions: caution.For(s)}
		v.Fitness, err = shop.Judge(s, nil, at)
		return err
	})
	return v, err
}

// Rolls lists rolls by number.
func (a *Recorder) Rolls(ctx context.Context, f port.RollFilter, p port.Page) (views []RollView, next string, err error) {
	if err := a.planner.Learn(ctx); err != nil {
		return nil, "", err
	}
	err = a.store.Read(ctx, func(r port.Reader) error {
		rows, after, err := r.Rolls(f, p)
		if err != nil {
			return err
		}
		now := a.clock.Now()
		shop, err := gather.OpenShop(r, now)
		if err != nil {
			return err
		}
		partners, err := partnersOf(r, rows)
		if err != nil {
			return err
		}
		states := make([]roll.State, len(rows))
		for i, row := range rows {
			states[i] = row.State
		}
		borne, err := a.planner.Borne(r, states, shop.Practices)
		if err != nil {
			return err
		}
		for _, row := range rows {
			v := RollView{RollRow: row, Borne: borne[row.State.Roll.Number]}
			if v.Fitness, err = shop.Judge(row.State, partners[row.State.Partner], now); err != nil {
				return err
			}
			v.Fitness = v.Borne.Over(v.Fitness)
			views = append(views, v)
		}
		next = after
		return nil
	})
	return views, next, err
}

// partnersOf reads the partners of many rolls at once.
func partnersOf(r port.Reader, rows []port.RollRow) (map[string]*roll.State, error) {
	var wanted []string
	for _, row := range rows {
		if row.State.Partner != "" {
			wanted = append(wanted, row.State.Partner)
		}
	}
	return gather.StatesOf(r, wanted)
}

// BookEntry is an entry as the book shows it.
type BookEntry struct {
	roll.Entry
	ReplacedBy int64 // the entry that corrects this one, 0 when none does
}

// Entries pages through a book in the order of writing. What corrects an entry
// may stand pages after it and is looked up.
func (a *Recorder) Entries(ctx context.Context, number string, p port.Page) (entries []BookEntry, next string, err error) {
	err = a.store.Read(ctx, func(r port.Reader) error {
		page, after, err := r.Entries(number, p)
		if err != nil {
			return err
		}
		next, entries = after, make([]BookEntry, len(page))
		if len(page) == 0 {
			_, err := r.Roll(number)
			return err
		}
		replacedBy, err := r.Corrections(number, page[0].Number, page[len(page)-1].Number)
		for i, e := range page {
			entries[i] = BookEntry{Entry: e, ReplacedBy: replacedBy[e.Number]}
		}
		return err
	})
	return entries, next, err
}

// Mountings pages through the stays of a roll in stands.
func (a *Recorder) Mountings(ctx context.Context, number string, p port.Page) (rows []port.Stay, next string, err error) {
	err = a.store.Read(ctx, func(r port.Reader) error {
		if _, err := r.Roll(number); err != nil {
			return err
		}
		rows, next, err = r.Mountings(number, p)
		return err
	})
	return rows, next, err
}

// ReceiveRoll opens a book. Conflicting when the number was ever used;
// Impossible when grade, mill or stands are unknown or the diameter is not above
// the scrap limits.
func (a *Recorder) ReceiveRoll(ctx context.Context, call port.Call, at time.Time, receipt roll.Received) (RollView, error) {
	return record(ctx, a, call, "received roll "+receipt.Roll.Number, func(w port.Writer, now time.Time) (RollView, error) {
		at, err := resolveMoment(at, now)
		if err != nil {
			return RollView{}, err
		}
		if receipt, err = checkedReceipt(w, receipt); err != nil {
			return RollView{}, err
		}
		if err := a.newNumber(w, &receipt); err != nil {
			return RollView{}, err
		}
		row, err := a.enter(w, port.RollRow{}, call, at, now, "", receipt)
		if err != nil {
			return RollView{}, err
		}
		return a.viewNow(w, row, now)
	})
}

func (a *Recorder) viewNow(r port.Reader, row port.RollRow, now time.Time) (RollView, error) {
	shop, err := gather.OpenShop(r, now)
	if err != nil {
		return RollView{}, err
	}
	return a.view(r, row, shop, now)
}

func checkReceipt(r port.Reader, receipt roll.Received) error {
	var c refusal.Check
	if err := checkKnown(&c, "grade", receipt.Roll.Grade, func() error { _, err := r.Grade(receipt.Roll.Grade); return err }); err != nil {
		return err
	}
	if err := checkKnown(&c, "mill", receipt.Mill, func() error { _, err := r.Mill(receipt.Mill); return err }); err != nil {
		return err
	}
	for i, name := range receipt.Stands {
		if err := checkStand(r, &c, i, name, receipt); err != nil {
			return err
		}
	}
	if limit, name := receipt.Roll.Scrap.Tightest(); receipt.Diameter <= limit {
		c.Add("diameter_mm", receipt.Diameter.String(), "must be above the scrap limit "+limit.String()+" ("+name+")", "check both diameters and their unit")
	}
	if receipt.Roll.NewDiameter < receipt.Diameter {
		c.Add("new_diameter_mm", receipt.Roll.NewDiameter.String(), "must not be below the diameter it is received at, "+receipt.Diameter.String(), "leave it out of a roll that comes new")
	}
	if receipt.Roll.NeckDiameter >= receipt.Diameter {
		c.Add("neck_diameter_mm", receipt.Roll.NeckDiameter.String(), "must be smaller than the barrel, "+receipt.Diameter.String(), "")
	}
	if radius := receipt.Roll.NeckRadius; radius > receipt.Diameter/2 {
		c.Add("neck_fillet_radius_mm", radius.String(), "must not be above half the barrel's diameter "+receipt.Diameter.String(), "give the radius of the fillet, not a diameter")
	}
	if span := receipt.Roll.BearingSpan; span > 0 && span <= receipt.Roll.BarrelLength {
		c.Add("bearing_span_mm", span.String(), "must be longer than the barrel, "+receipt.Roll.BarrelLength.String(), "")
	}
	if err := c.Err(); err != nil {
		return port.Refused(err)
	}
	limit, _ := receipt.Roll.Scrap.Tightest()
	return port.Refused(roll.CheckGrooves(receipt.Roll.Grooves, limit))
}

// checkKnown adds a refusal when look finds nothing under the name.
func checkKnown(c *refusal.Check, field, name string, look func() error) error {
	err := look()
	if port.IsKind(err, port.NotFound) {
		c.Add(field, name, "is not known", "add it first", map[string]next.Step{"mill": next.AddMill(), "grade": next.AddGrade()}[field])
		return nil
	}
	return err
}

func checkStand(r port.Reader, c *refusal.Check, i int, name string, receipt roll.Received) error {
	field := "stands/" + strconv.Itoa(i)
	stand, err := r.Stand(name)
	switch {
	case port.IsKind(err, port.NotFound):
		c.Add(field, name, "is not a stand", "see the stands", next.ListStands())
		return nil
	case err != nil:
		return err
	case stand.Mill != receipt.Mill:
		c.Add(field, name, "is a stand of mill "+stand.Mill+", not of "+receipt.Mill, "")
	case !stand.Arrangement.Takes(receipt.Roll.Role):
		c.Add(field, name, "has no place for a "+string(receipt.Roll.Role)+" roll", "")
	}
	return nil
}

// Happening is an entry with a moment and a reason and nothing that depends on
// another roll.
type Happening struct {
	Number string
	At     time.Time
	Reason string
	Body   roll.Body
}

// RecordHappening writes an inspection, hold, release, regrading or scrapping.
// Conflicting when it cannot follow in the book.
func (a *Recorder) RecordHappening(ctx context.Context, call port.Call, h Happening) (RollView, error) {
	what := string(h.Body.Kind()) + " roll " + h.Number
	return record(ctx, a, call, what, func(w port.Writer, _ time.Time) (RollView, error) {
		row, err := a.lockRoll(w, h.Number, call)
		if err != nil {
			return RollView{}, err
		}
		at, now, err := a.dated(w, h.At, row.State.LastAt)
		if err != nil {
			return RollView{}, err
		}
		if h.Body, err = checkedBody(w, row, h.Body); err != nil {
			return RollView{}, err
		}
		open := settleTests(row.State, &h.Body)
		if row, err = a.enter(w, row, call, at, now, h.Reason, h.Body); err != nil {
			return RollView{}, err
		}
		if err := port.Asked(open); err != nil {
			return RollView{}, err
		}
		view, err := a.viewNow(w, row, now)
		if b, is := h.Body.(roll.Inspected); is && err == nil {
			var histories []string
			histories, err = named(w, h.Number, row.Version(), b.Tests)
			view.Cautions = append(view.Cautions, histories...)
		}
		return view, err
	})
}

// checkedBody holds a body against more than the roll's own book, and puts what
// is in force into it.
func checkedBody(r port.Reader, row port.RollRow, body roll.Body) (roll.Body, error) {
	switch b := body.(type) {
	case roll.Regraded:
		return b, checkRegrading(r, row, b)
	case roll.Inspected:
		practices, err := gather.AllPractices(r)
		if err != nil {
			return b, err
		}
		if b.Tests, err = judgedBy(practice.Resolve(practices, gather.CaseOf(row.State)), b.Tests); err != nil {
			return b, err
		}
		return b, onBarrel(row.State.Roll, roll.Measures{}, b.Tests)
	}
	return body, nil
}

// checkedReceipt holds a receipt against the works, and puts what is in force
// into its tests.
func checkedReceipt(r port.Reader, receipt roll.Received) (roll.Received, error) {
	if err := checkReceipt(r, receipt); err != nil {
		return receipt, err
	}
	practices, err := gather.AllPractices(r)
	if err != nil {
		return receipt, err
	}
	in := practice.Resolve(practices, practice.Scope{Mill: receipt.Mill, Role: receipt.Roll.Role, Grade: receipt.Roll.Grade})
	if receipt.Tests, err = judgedBy(in, receipt.Tests); err != nil {
		return receipt, err
	}
	return receipt, onBarrel(receipt.Roll, receipt.Measures, receipt.Tests)
}

func checkRegrading(r port.Reader, row port.RollRow, b roll.Regraded) error {
	var c refusal.Check
	moved := roll.Received{Roll: row.State.Roll, Mill: row.State.Mill}
	if b.Mill != "" {
		moved.Mill = b.Mill
		if err := checkKnown(&c, "mill", b.Mill, func() error { _, err := r.Mill(b.Mill); return err }); err != nil {
			return err
		}
	}
	for i, name := range b.Stands {
		if err := checkStand(r, &c, i, name, moved); err != nil {
			return err
		}
	}
	return port.Refused(c.Err())
}

// lockRoll keeps others off the roll and reads it. Stale when the caller named
// a version that it no longer has.
func (a *Recorder) lockRoll(w port.Writer, number string, call port.Call) (port.RollRow, error) {
	if err := w.LockRolls([]string{number}); err != nil {
		return port.RollRow{}, err
	}
	row, err := w.Roll(number)
	if err != nil {
		return port.RollRow{}, err
	}
	if call.IfVersion > 0 && call.IfVersion != row.Version() {
		return port.RollRow{}, port.FailNext(next.ShowRoll(number), port.Stale, "roll %s has changed since you read it: you have version %d, it is now %d; read it again", number, call.IfVersion, row.Version())
	}
	return row, nil
}
