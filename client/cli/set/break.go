package set

import (
	"context"

	"github.com/spf13/cobra"

	"barrelbook/client/cli/kit"
	"barrelbook/client/conn"
	"barrelbook/client/oapi"
)

// BreakOptions is the breaking of a set as typed.
type BreakOptions struct {
	Factory *kit.Factory
	kit.Recording
	Set, Reason string
}

// NewCmdBreak parts the rolls of a set.
func NewCmdBreak(f *kit.Factory, runF func(context.Context, *BreakOptions) error) *cobra.Command {
	o := &BreakOptions{Factory: f}
	cmd := &cobra.Command{
		Use:               "break SET",
		Short:             "Part the rolls of a set",
		Example:           kit.Example("barrelbook set break S81 --reason \"bottom roll to be ground again\""),
		Args:              kit.Args("SET"),
		ValidArgsFunction: kit.Complete(f, kit.Sets),
		RunE: func(cmd *cobra.Command, args []string) error {
			o.Set = args[0]
			if runF != nil {
				return runF(cmd.Context(), o)
			}
			return breakUp(cmd.Context(), o)
		},
	}
	cmd.Flags().StringVar(&o.Reason, "reason", "", "why")
	o.Recording.AddTo(cmd, true)
	kit.Require(cmd, "reason")
	return cmd
}

// breakUp reads the set first: it breaks the set that was there when the
// command began, and not one that has changed since.
func breakUp(ctx context.Context, o *BreakOptions) error {
	what := "set " + o.Set + " was not broken"
	at, err := o.Moment(o.Factory)
	if err != nil {
		return kit.Failure{What: what}.Explain(err)
	}
	c, err := o.Factory.Conn(ctx)
	if err != nil {
		return err
	}
	next := kit.Failure{What: what, Flag: map[string]string{"reason": "--reason", "at": "--at"}, Next: []string{kit.Path("set show %s", o.Set)}}
	now, err := conn.Expect[oapi.Set](c.API.GetSet(ctx, o.Set, nil))
	if err != nil {
		next.Next = []string{kit.Path("set list")}
		return next.Explain(err)
	}
	dry, key := o.Params()
	a, err := conn.Expect[oapi.Set](c.API.BreakSet(ctx, o.Set, &oapi.BreakSetParams{DryRun: dry, IdempotencyKey: key, IfMatch: &now.ETag},
		oapi.ReasonInput{Reason: o.Reason, At: at}))
	if err != nil {
		return next.Explain(err)
	}
	return shown(o.Factory, a, &o.Recording, "Set "+o.Set+" is broken: "+a.Value.Top+" and "+a.Value.Bottom+" are free.")
}
