package record

import (
	"fmt"
	"slices"
	"time"

	"barrelbook/api/app/port"
	"barrelbook/domain/next"
	"barrelbook/domain/roll"
)

// revision is entries in the books of several rolls that only together leave
// them consistent, such as a roll change that is recorded late. They are written
// all or none.
type revision struct {
	app     *Recorder
	w       port.Writer
	call    port.Call
	now     time.Time
	because string // the reason of its corrections
	order   []string
	drafts  map[string][]roll.Entry
	books   map[string][]roll.Entry
}

// newRevision locks the rolls.
func (a *Recorder) newRevision(w port.Writer, call port.Call, now time.Time, because string, rolls []string) (*revision, error) {
	return &revision{app: a, w: w, call: call, now: now, because: because, drafts: map[string][]roll.Entry{}, books: map[string][]roll.Entry{}}, w.LockRolls(rolls)
}

// enter drafts one more entry.
func (v *revision) enter(number string, at time.Time, reason string, body roll.Body) {
	if v.drafts[number] == nil {
		v.order = append(v.order, number)
	}
	v.drafts[number] = append(v.drafts[number], roll.Entry{Roll: number, At: at, RecordedAt: v.now, By: v.call.Actor, Reason: reason, Body: body})
}

// find gives the entry of a book that stands and fits.
func (v *revision) find(number string, fits func(roll.Body) bool) (roll.Entry, error) {
	book, err := v.book(number)
	if err != nil {
		return roll.Entry{}, err
	}
	effective, err := roll.Effective(book)
	if err != nil {
		return roll.Entry{}, port.BookError(err)
	}
	i := slices.IndexFunc(effective, func(e roll.Entry) bool { return fits(e.Body) })
	if i < 0 {
		return roll.Entry{}, port.FailNext(next.ShowBook(number), port.Conflicting, "the book of roll %s does not tell what the stand's register tells", number)
	}
	return effective[i], nil
}

func (v *revision) book(number string) ([]roll.Entry, error) {
	if v.books[number] == nil {
		book, err := v.w.Book(number)
		if err != nil {
			return nil, err
		}
		v.books[number] = book
	}
	return v.books[number], nil
}

// withdraw drafts that an entry does not stand.
func (v *revision) withdraw(number string, e roll.Entry) {
	v.enter(number, v.now, v.because, roll.Corrected{Entry: e.Number})
}

// replace drafts another moment and text of an entry.
func (v *revision) replace(number string, e roll.Entry, at time.Time, with roll.Body) {
	v.enter(number, v.now, v.because, roll.Corrected{Entry: e.Number, At: at, With: with})
}

// write writes what was drafted and gives the states after it. One entry at the
// end of a book needs no look at the book.
func (v *revision) write() (map[string]roll.State, error) {
	after := map[string]roll.State{}
	for _, number := range v.order {
		row, err := v.w.Roll(number)
		if err != nil {
			return nil, err
		}
		drafts := v.drafts[number]
		if len(drafts) == 1 {
			e := drafts[0]
			if row, err = v.app.enter(v.w, row, v.call, e.At, v.now, e.Reason, e.Body); err != nil {
				return nil, err
			}
			after[number] = row.State
			continue
		}
		for i := range drafts {
			drafts[i].Number = row.Version() + int64(i) + 1
		}
		book, err := v.book(number)
		if err != nil {
			return nil, err
		}
		state, err := roll.AppendAll(book, drafts)
		if err != nil {
			return nil, port.BookError(err)
		}
		for _, e := range drafts {
			step := state
			step.Entries = e.Number
			if row, err = v.w.Append(row, e, step); err != nil {
				return nil, fmt.Errorf("writing into the book of roll %s: %w", number, err)
			}
		}
		after[number] = state
	}
	return after, nil
}
