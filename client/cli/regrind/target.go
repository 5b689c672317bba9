package regrind

import (
	"context"
	"errors"
	"fmt"

	"barrelbook/client/cli/kit"
	"barrelbook/client/cli/roll"
	"barrelbook/client/conn"
	"barrelbook/client/oapi"
	"barrelbook/client/render"
)

// target is the entry of a book that is to be corrected or withdrawn.
type target struct {
	factory   *kit.Factory
	conn      *conn.Conn
	recording *kit.Recording
	roll      string
	entry     int64 // 0 for the last regrind that holds
	yes       bool
	verb      string // "Withdraw"
	done      string // "withdrawn"
	what      string // failed, when it does
	flags     map[string]string
	changes   func(oapi.Entry) []string
}

func (t *target) failure(err error) error {
	return kit.Failure{What: t.what, Flag: t.flags, Next: []string{kit.Path("roll book %s --all", t.roll)}}.Explain(err)
}

// find looks the entry up, shows it, and asks where it is not the last one and
// was not named: a command sent twice would take the one before.
func (t *target) find(ctx context.Context) error {
	named := t.entry != 0
	e, last, err := t.look(ctx)
	if err != nil {
		return t.failure(err)
	}
	t.entry = e.Number
	t.factory.Term.Say("Entry %d of %s, %s, by %s: %s.", e.Number, t.roll, render.Time(e.At), e.By, render.Opt(e.Summary))
	if t.changes != nil {
		for _, line := range t.changes(e) {
			t.factory.Term.Say("  %s", line)
		}
	}
	if named || e.Number == last || t.recording.DryRun || t.yes {
		return nil
	}
	ok, err := t.factory.Term.Confirm(fmt.Sprintf("%d entries were written after it. %s entry %d?", last-e.Number, t.verb, e.Number))
	switch {
	case errors.Is(err, context.Canceled):
		return err
	case err != nil:
		return t.failure(kit.Usagef("the last regrind is entry %d, and %d entries were written after it: name it with --entry %d", e.Number, last-e.Number, e.Number))
	case !ok:
		return kit.ErrStopped
	}
	return nil
}

// look gives the entry that is named, or the last regrind that holds, and the
// number of the last entry of the book.
func (t *target) look(ctx context.Context) (found oapi.Entry, last int64, err error) {
	paging := kit.Paging{Limit: 1000, All: true}
	err = kit.Pages(&paging, func(limit *int64, cursor *string) (kit.Page[oapi.Entry], error) {
		a, err := conn.Expect[oapi.EntryPage](t.conn.API.ListEntries(ctx, t.roll, &oapi.ListEntriesParams{Limit: limit, Cursor: cursor}))
		return kit.Page[oapi.Entry]{Items: a.Value.Items, Next: a.Value.Next}, err
	}, func(page kit.Page[oapi.Entry]) error {
		for _, e := range page.Items {
			if last = e.Number; t.entry == e.Number || t.entry == 0 && holds(e) {
				found = e
			}
		}
		return nil
	})
	switch {
	case err != nil || found.Number != 0:
	case t.entry != 0:
		err = fmt.Errorf("the book of %s has no entry %d", t.roll, t.entry)
	default:
		err = fmt.Errorf("the book of %s has no regrind that still holds", t.roll)
	}
	return found, last, err
}

// holds is true for a regrind, or a regrind put in place of a wrong one, that
// nothing has replaced.
func holds(e oapi.Entry) bool {
	if e.ReplacedBy != nil {
		return false
	}
	return e.Kind == oapi.EntryKindReground || (e.Kind == oapi.EntryKindCorrected && e.Body["kind"] == string(oapi.EntryKindReground))
}

// send records the correction and shows the roll as it is then.
func (t *target) send(ctx context.Context, in oapi.CorrectionInput) error {
	u, err := t.factory.Units()
	if err != nil {
		return err
	}
	dry, key := t.recording.Params()
	a, err := conn.Expect[oapi.Roll](t.conn.API.CorrectEntry(ctx, t.roll, &oapi.CorrectEntryParams{DryRun: dry, IdempotencyKey: key}, in))
	if err != nil {
		return t.failure(err)
	}
	if err := kit.Show(t.factory, a, func(r oapi.Roll) error { roll.Print(t.factory.Term, u, r); return nil }); err != nil {
		return err
	}
	t.recording.Noted(t.factory, "Entry %d of %s is %s.", in.Entry, t.roll, t.done)
	return nil
}
