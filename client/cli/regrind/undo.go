package regrind

import (
	"context"

	"github.com/spf13/cobra"

	"barrelbook/client/cli/kit"
	"barrelbook/client/oapi"
)

// UndoOptions is a withdrawal as typed.
type UndoOptions struct {
	Factory *kit.Factory
	kit.Recording
	kit.Revising
	Roll, Reason string
	Entry        int64
}

// NewCmdUndo withdraws an entry.
func NewCmdUndo(f *kit.Factory, runF func(context.Context, *UndoOptions) error) *cobra.Command {
	o := &UndoOptions{Factory: f}
	cmd := &cobra.Command{
		Use:   "undo ROLL",
		Short: "Withdraw a regrind, or another entry of the shop",
		Long: `Withdraw a regrind that was not made, or another entry of the shop. The entry
stays in the book with the withdrawal and its reason. A figure that is wrong is
corrected instead: regrind correct.

Without --entry it is the last regrind of the roll that still holds; where
something was written after it, name it with --entry. Whoever may not undo what
an entry did may not withdraw it: a hold, a scrapping or an incident is an
engineer's. An incident is taken out of the books of all rolls that bore it.

What follows, in stock, fitness, tests owed and forecasts, is shown before you
are asked.`,
		Example: kit.Example(
			"barrelbook regrind undo R1234 --reason \"entered on the wrong roll\"",
			"barrelbook regrind undo R1234 --entry 58 --reason \"entered on the wrong roll\""),
		Args:              kit.Args("ROLL"),
		ValidArgsFunction: kit.Complete(f, kit.Rolls),
		RunE: func(cmd *cobra.Command, args []string) error {
			o.Roll = args[0]
			if runF != nil {
				return runF(cmd.Context(), o)
			}
			return undo(cmd.Context(), o)
		},
	}
	cmd.Flags().StringVar(&o.Reason, "reason", "", "why it is wrong")
	cmd.Flags().Int64Var(&o.Entry, "entry", 0, "the `NUMBER` of the wrong entry; the last regrind when left out")
	o.Revising.AddTo(cmd)
	o.Recording.AddTo(cmd, false)
	kit.Require(cmd, "reason")
	return cmd
}

func undo(ctx context.Context, o *UndoOptions) error {
	c, err := o.Factory.Conn(ctx)
	if err != nil {
		return err
	}
	t := &target{factory: o.Factory, conn: c, recording: &o.Recording, roll: o.Roll, entry: o.Entry, yes: o.Yes, verb: "Withdraw", done: "withdrawn",
		what: "no entry of " + o.Roll + " was withdrawn", flags: map[string]string{"entry": "--entry", "reason": "--reason"}}
	if err := t.find(ctx); err != nil {
		return err
	}
	return t.send(ctx, oapi.CorrectionInput{Entry: t.entry, Reason: o.Reason})
}
