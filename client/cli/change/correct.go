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

// CorrectOptions is the right moment of a roll change as typed.
type CorrectOptions struct {
	Factory *kit.Factory
	kit.Recording
	kit.Revising
	Change, Reason string
}

// NewCmdCorrect moves a roll change to the moment when it really was.
func NewCmdCorrect(f *kit.Factory, runF func(context.Context, *CorrectOptions) error) *cobra.Command {
	o := &CorrectOptions{Factory: f}
	cmd := &cobra.Command{
		Use:   "correct CHANGE",
		Short: "Correct the moment of a roll change",
		Long: `Correct the moment of a roll change, in the books of all its rolls. What was
rolled between the two moments moves to the rolls that were really in.`,
		Example:           kit.Example("barrelbook change correct change-01J8Z3 --at 2026-03-04T14:05Z --reason \"read off the wrong line\""),
		Args:              kit.Args("CHANGE"),
		ValidArgsFunction: kit.Complete(f, kit.Changes),
		RunE: func(cmd *cobra.Command, args []string) error {
			o.Change = args[0]
			if runF != nil {
				return runF(cmd.Context(), o)
			}
			return correct(cmd.Context(), o)
		},
	}
	cmd.Flags().StringVar(&o.Reason, "reason", "", "why the moment in the books is wrong")
	o.Revising.AddTo(cmd)
	o.Recording.AddTo(cmd, true)
	kit.Require(cmd, "at", "reason")
	return cmd
}

func correct(ctx context.Context, o *CorrectOptions) error {
	what := kit.Failure{What: "the roll change " + o.Change + " was not corrected", Flag: map[string]string{"at": "--at", "reason": "--reason"}, Next: []string{kit.Path("change list")}}
	at, err := o.Moment(o.Factory)
	if err != nil {
		return what.Explain(err)
	}
	u, err := o.Factory.Units()
	if err != nil {
		return err
	}
	c, err := o.Factory.Conn(ctx)
	if err != nil {
		return err
	}
	_, key := o.Params()
	a, done, err := kit.Revise(o.Factory, &o.Recording, o.Yes, "Give roll change "+o.Change+" this moment?", func(dry bool) (conn.Answer[oapi.Change], error) {
		return conn.Expect[oapi.Change](c.API.CorrectChange(ctx, o.Change, &oapi.CorrectChangeParams{DryRun: kit.OptTrue(dry), IdempotencyKey: key}, oapi.MomentInput{At: *at, Reason: o.Reason}))
	}, func(f *kit.Factory, ch oapi.Change) error {
		t := f.Term
		t.Print("%s", t.Bold(fmt.Sprintf("Roll change at %s, %s rolls, %s, corrected", ch.Stand, ch.Role, render.Time(ch.At))))
		moved(f, u, "out", render.Opt(ch.Out))
		moved(f, u, "in", render.Opt(ch.In))
		rebooked(f, u, ch)
		render.Bullets(t, "\nCautions:", render.Opt(ch.Cautions))
		return nil
	})
	if err != nil {
		return what.Explain(err)
	}
	if done {
		o.Noted(o.Factory, "Roll change %s was on %s.", a.Value.Name, render.Time(a.Value.At))
	} else {
		o.Noted(o.Factory, "")
	}
	return nil
}
