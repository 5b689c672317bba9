package regrind

import (
	"context"
	"fmt"

	"github.com/spf13/cobra"

	"barrelbook/client/cli/kit"
	"barrelbook/client/cli/roll"
	"barrelbook/client/conn"
	"barrelbook/client/oapi"
	"barrelbook/client/render"
)

// UndoOptions is a correction as typed.
type UndoOptions struct {
	Factory *kit.Factory
	kit.Recording
	Measures
	Roll, Reason string
	Entry        int64
}

// NewCmdUndo withdraws or corrects a regrind.
func NewCmdUndo(f *kit.Factory, runF func(context.Context, *UndoOptions) error) *cobra.Command {
	o := &UndoOptions{Factory: f}
	cmd := &cobra.Command{
		Use:     "undo ROLL",
		Aliases: []string{"correct"},
		Short:   "Correct a regrind, or withdraw it when no new figures are given",
		Long: `Correct a regrind, or withdraw it when no new figures are given. The wrong entry
stays in the book with the one that took its place, and the reason.

Without --entry it is the last regrind of the roll that still holds. With
--entry and no figures any entry of the shop can be withdrawn.`,
		Example: kit.Example(
			"barrelbook regrind undo R1234 --reason \"entered on the wrong roll\"",
			"barrelbook regrind correct R1234 --found 738.412 --ground 737.950 --for wear --reason \"two digits swapped\""),
		Args:              kit.Args("ROLL"),
		ValidArgsFunction: kit.Complete(f, kit.Rolls),
		RunE: func(cmd *cobra.Command, args []string) error {
			o.Roll = args[0]
			if missing := o.missing(); o.given() && len(missing) > 0 {
				return kit.Usagef("a corrected regrind needs %s too", render.Join(missing))
			}
			if runF != nil {
				return runF(cmd.Context(), o)
			}
			return undo(cmd.Context(), o)
		},
	}
	o.Measures.addTo(cmd)
	cmd.Flags().StringVar(&o.Reason, "reason", "", "why it is wrong")
	cmd.Flags().Int64Var(&o.Entry, "entry", 0, "the `NUMBER` of the wrong entry; the last regrind when left out")
	o.Recording.AddTo(cmd, true)
	kit.Require(cmd, "reason")
	return cmd
}

var undoFlags = func() map[string]string {
	flags := map[string]string{"entry": "--entry", "reason": "--reason"}
	for field, flag := range measureFlags {
		flags["regrind/"+field] = flag
	}
	return flags
}()

func undo(ctx context.Context, o *UndoOptions) error {
	what := "the regrind of " + o.Roll + " was not corrected"
	in := oapi.CorrectionInput{Entry: o.Entry, Reason: o.Reason}
	if o.given() {
		grind, err := o.input(o.Factory, &o.Recording)
		if err != nil {
			return kit.Failure{What: what}.Explain(err)
		}
		in.Regrind = &grind
	} else if o.At != "" {
		return kit.Usagef("--at is the moment of the corrected regrind: give its figures too")
	}
	u, err := o.Factory.Units()
	if err != nil {
		return err
	}
	c, err := o.Factory.Conn(ctx)
	if err != nil {
		return err
	}
	next := kit.Failure{What: what, Flag: undoFlags, Next: []string{kit.Path("roll book %s --all", o.Roll)}}
	if in.Entry == 0 {
		if in.Entry, err = lastRegrind(ctx, c, o.Roll); err != nil {
			return next.Explain(err)
		}
	}
	dry, key := o.Params()
	a, err := conn.Expect[oapi.Roll](c.API.CorrectEntry(ctx, o.Roll, &oapi.CorrectEntryParams{DryRun: dry, IdempotencyKey: key}, in))
	if err != nil {
		return next.Explain(err)
	}
	if err := kit.Show(o.Factory, a, func(r oapi.Roll) error { roll.Print(o.Factory.Term, u, r); return nil }); err != nil {
		return err
	}
	done := "withdrawn"
	if in.Regrind != nil {
		done = "corrected"
	}
	o.Noted(o.Factory, "Entry %d of %s is %s.", in.Entry, o.Roll, done)
	return nil
}

// lastRegrind is the number of the last regrind that still holds.
func lastRegrind(ctx context.Context, c *conn.Conn, number string) (int64, error) {
	var last int64
	paging := kit.Paging{Limit: 1000, All: true}
	err := kit.Pages(&paging, func(limit *int64, cursor *string) (kit.Page[oapi.Entry], error) {
		a, err := conn.Expect[oapi.EntryPage](c.API.ListEntries(ctx, number, &oapi.ListEntriesParams{Limit: limit, Cursor: cursor}))
		return kit.Page[oapi.Entry]{Items: a.Value.Items, Next: a.Value.Next}, err
	}, func(page kit.Page[oapi.Entry]) error {
		for _, e := range page.Items {
			if holds(e) {
				last = e.Number
			}
		}
		return nil
	})
	if err == nil && last == 0 {
		err = fmt.Errorf("the book of %s has no regrind that still holds", number)
	}
	return last, err
}

// holds is true for a regrind, or a regrind put in place of a wrong one, that
// nothing has replaced.
func holds(e oapi.Entry) bool {
	if e.ReplacedBy != nil {
		return false
	}
	return e.Kind == oapi.EntryKindReground || (e.Kind == oapi.EntryKindCorrected && e.Body["kind"] == string(oapi.EntryKindReground))
}
