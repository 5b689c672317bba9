package regrind

import (
	"context"
	"errors"
	"fmt"
	"strconv"

	"barrelbook/client/cli/kit"
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
	version   int64 // of the book that was looked at
}

func (t *target) failure(err error) error {
	return kit.Failure{What: t.what, Flag: t.flags, Next: []string{kit.Path("roll book %s --all", t.roll)}}.Explain(err)
}

// find looks the entry up and shows it. One that is not the last and was not named
// is named in a question, or refused: a command sent twice would take the one
// before. --yes does not answer for it.
func (t *target) find(ctx context.Context) error {
	named := t.entry != 0
	if t.recording.Key != "" && !named {
		return t.failure(kit.Usagef("with --key name the entry too, with --entry: sent again, the command would take another one"))
	}
	e, last, err := t.look(ctx)
	if err != nil {
		return t.failure(err)
	}
	t.entry, t.version = e.Number, last
	t.factory.Term.Say("Entry %d of %s, %s, by %s: %s.", e.Number, t.roll, render.Time(e.At), e.By, render.Opt(e.Summary))
	if named || e.Number == last {
		return nil
	}
	after := fmt.Sprintf("%s written after it", render.Count(last-e.Number, "entry"))
	ok, err := t.factory.Term.Confirm(fmt.Sprintf("It is not the last: %s. Entry %d all the same?", after, e.Number))
	switch {
	case errors.Is(err, context.Canceled):
		return err
	case err != nil:
		return t.failure(kit.Usagef("the last regrind is entry %d, with %s: name it with --entry %d", e.Number, after, e.Number))
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
		err = &kit.Missing{Err: fmt.Errorf("the book of %s has no entry %d", t.roll, t.entry)}
	default:
		err = &kit.Missing{Err: fmt.Errorf("the book of %s has no regrind that still holds", t.roll)}
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

// send shows what the correction does, asks, and records it, where the book is
// still the one that was looked at.
func (t *target) send(ctx context.Context, in oapi.CorrectionInput) error {
	key := t.recording.KeyParam()
	var version *string
	if t.recording.Key == "" { // sent again under its key, it has been written since
		tag := `"` + strconv.FormatInt(t.version, 10) + `"`
		version = &tag
	}
	once := func(dry bool) (conn.Answer[oapi.CorrectionAnswer], error) {
		return conn.Expect[oapi.CorrectionAnswer](t.conn.API.CorrectEntry(ctx, t.roll, &oapi.CorrectEntryParams{DryRun: kit.OptTrue(dry), IdempotencyKey: key, IfMatch: version}, in))
	}
	a, done, err := kit.Revise(t.factory, t.recording, t.yes, fmt.Sprintf("%s entry %d of %s?", t.verb, in.Entry, t.roll), func(dry bool) (conn.Answer[oapi.CorrectionAnswer], error) {
		if in.Regrind == nil {
			return once(dry)
		}
		return kit.Settled(t.factory, in.Regrind.Confirmed, func(confirmed *[]oapi.Question) (conn.Answer[oapi.CorrectionAnswer], error) {
			in.Regrind.Confirmed = confirmed
			return once(dry)
		})
	}, func(f *kit.Factory, a oapi.CorrectionAnswer) error { return kit.PrintCorrection(f, t.flags, a) })
	if err != nil {
		return t.failure(err)
	}
	if !done {
		t.recording.Noted(t.factory, "")
		return nil
	}
	t.recording.Noted(t.factory, "Entry %d of %s is %s, by entry %d.", in.Entry, t.roll, t.done, a.Value.Entry)
	return nil
}
