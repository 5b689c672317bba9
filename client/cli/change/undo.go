package change

import (
	"context"
	"fmt"

	"github.com/spf13/cobra"

	"barrelbook/client/cli/kit"
	"barrelbook/client/conn"
	"barrelbook/client/oapi"
	"barrelbook/client/render"
)

// UndoOptions is the undoing of a roll change as typed.
type UndoOptions struct {
	Factory *kit.Factory
	kit.Recording
	kit.Revising
	Change, Reason string
}

// NewCmdUndo takes a roll change back that was recorded wrongly.
func NewCmdUndo(f *kit.Factory, runF func(context.Context, *UndoOptions) error) *cobra.Command {
	o := &UndoOptions{Factory: f}
	cmd := &cobra.Command{
		Use:   "undo CHANGE",
		Short: "Undo a roll change that was recorded wrongly",
		Long: `Undo a roll change that was recorded wrongly: what came out was in as if it had
not come out then, and what went in never went. What was rolled since is booked
on the rolls that were in. The books of all its rolls keep both the change and
its undoing.

It is refused where a book does not bear it, as when what came out has been
ground since.`,
		Example:           kit.Example("barrelbook change undo change-01J8Z3 --reason \"recorded at the wrong stand\""),
		Args:              kit.Args("CHANGE"),
		ValidArgsFunction: kit.Complete(f, kit.Changes),
		RunE: func(cmd *cobra.Command, args []string) error {
			o.Change = args[0]
			if runF != nil {
				return runF(cmd.Context(), o)
			}
			return undo(cmd.Context(), o)
		},
	}
	cmd.Flags().StringVar(&o.Reason, "reason", "", "why it is wrong")
	o.Revising.AddTo(cmd)
	o.Recording.AddTo(cmd, false)
	kit.Require(cmd, "reason")
	return cmd
}

func undo(ctx context.Context, o *UndoOptions) error {
	u, err := o.Factory.Units()
	if err != nil {
		return err
	}
	c, err := o.Factory.Conn(ctx)
	if err != nil {
		return err
	}
	_, key := o.Params()
	a, done, err := kit.Revise(o.Factory, &o.Recording, o.Yes, "Undo roll change "+o.Change+"?", func(dry bool) (conn.Answer[oapi.Change], error) {
		return conn.Expect[oapi.Change](c.API.UndoChange(ctx, o.Change, &oapi.UndoChangeParams{DryRun: kit.OptTrue(dry), IdempotencyKey: key}, oapi.UndoInput{Reason: o.Reason}))
	}, func(f *kit.Factory, ch oapi.Change) error {
		t := f.Term
		t.Print("%s", t.Bold(fmt.Sprintf("Roll change at %s, %s rolls, %s, undone", ch.Stand, ch.Role, render.Time(ch.At))))
		moved(f, u, "in again", render.Opt(ch.Out))
		moved(f, u, "never in", render.Opt(ch.In))
		rebooked(f, u, ch)
		render.Bullets(t, "\nCautions:", render.Opt(ch.Cautions))
		return nil
	})
	if err != nil {
		return kit.Failure{What: "the roll change " + o.Change + " was not undone", Flag: map[string]string{"reason": "--reason"}, Next: []string{kit.Path("change list")}}.Explain(err)
	}
	if done {
		o.Noted(o.Factory, "Roll change %s is undone.", a.Value.Name)
	} else {
		o.Noted(o.Factory, "")
	}
	return nil
}
