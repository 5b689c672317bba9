package roll

import (
	"context"

	"github.com/spf13/cobra"

	"barrelbook/client/cli/kit"
	"barrelbook/client/conn"
	"barrelbook/client/oapi"
)

// RegradeOptions is a move to another duty as typed.
type RegradeOptions struct {
	Factory *kit.Factory
	kit.Recording
	Number, Mill, Reason string
	Stands               []string
}

// NewCmdRegrade moves a roll to another duty.
func NewCmdRegrade(f *kit.Factory, runF func(context.Context, *RegradeOptions) error) *cobra.Command {
	o := &RegradeOptions{Factory: f}
	cmd := &cobra.Command{
		Use:               "regrade NUMBER",
		Short:             "Move a roll to another duty, such as a less demanding stand",
		Example:           kit.Example("barrelbook roll regrade R1234 --stand F1 --stand F2 --reason \"too soft for the late stands\""),
		Args:              kit.Args("NUMBER"),
		ValidArgsFunction: kit.Complete(f, kit.Rolls),
		RunE: func(cmd *cobra.Command, args []string) error {
			o.Number = args[0]
			if runF != nil {
				return runF(cmd.Context(), o)
			}
			return regrade(cmd.Context(), o)
		},
	}
	cmd.Flags().StringSliceVar(&o.Stands, "stand", nil, "a `STAND` it may serve from now on, again for each")
	cmd.Flags().StringVar(&o.Mill, "mill", "", "the `MILL` it goes to; its own when left out")
	cmd.Flags().StringVar(&o.Reason, "reason", "", "why")
	o.Recording.AddTo(cmd, true)
	kit.Require(cmd, "stand", "reason")
	kit.CompleteFlag(f, cmd, "stand", kit.Stands)
	kit.CompleteFlag(f, cmd, "mill", kit.Mills)
	return cmd
}

func regrade(ctx context.Context, o *RegradeOptions) error {
	const what = "the roll was not moved to another duty"
	at, err := o.Moment(o.Factory)
	if err != nil {
		return kit.Failure{What: what}.Explain(err)
	}
	c, err := o.Factory.Conn(ctx)
	if err != nil {
		return err
	}
	dry, key := o.Params()
	a, err := conn.Expect[oapi.Roll](c.API.RegradeRoll(ctx, o.Number, &oapi.RegradeRollParams{DryRun: dry, IdempotencyKey: key},
		oapi.RegradingInput{Stands: o.Stands, Mill: kit.OptText(o.Mill), Reason: o.Reason, At: at}))
	if err != nil {
		return failed(what, o.Number, map[string]string{"stands": "--stand", "mill": "--mill", "reason": "--reason", "at": "--at"}, err)
	}
	return shown(o.Factory, a, &o.Recording, "Recorded in the book of "+o.Number+".")
}
