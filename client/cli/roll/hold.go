package roll

import (
	"context"
	"net/http"

	"github.com/spf13/cobra"

	"barrelbook/client/cli/kit"
	"barrelbook/client/conn"
	"barrelbook/client/oapi"
)

// ReasonOptions is what holding and releasing have in common.
type ReasonOptions struct {
	Factory *kit.Factory
	kit.Recording
	Number, Reason string
}

// addTo adds the flags.
func (o *ReasonOptions) addTo(cmd *cobra.Command) {
	cmd.Flags().StringVar(&o.Reason, "reason", "", "why")
	o.Recording.AddTo(cmd, true)
	kit.Require(cmd, "reason")
}

// NewCmdHold keeps a roll in.
func NewCmdHold(f *kit.Factory, runF func(context.Context, *ReasonOptions) error) *cobra.Command {
	o := &ReasonOptions{Factory: f}
	cmd := &cobra.Command{
		Use:               "hold NUMBER",
		Short:             "Hold a roll: it may not be mounted until it is released",
		Example:           kit.Example("barrelbook roll hold R1234 --reason \"bruise near the drive end\""),
		Args:              kit.Args("NUMBER"),
		ValidArgsFunction: kit.Complete(f, kit.Rolls),
		RunE: func(cmd *cobra.Command, args []string) error {
			o.Number = args[0]
			if runF != nil {
				return runF(cmd.Context(), o)
			}
			return hold(cmd.Context(), o)
		},
	}
	o.addTo(cmd)
	return cmd
}

func hold(ctx context.Context, o *ReasonOptions) error {
	return o.record(ctx, "the roll was not held", o.Number+" is held.", func(c *conn.Conn, in oapi.ReasonInput) (*http.Response, error) {
		dry, key := o.Params()
		return c.API.HoldRoll(ctx, o.Number, &oapi.HoldRollParams{DryRun: dry, IdempotencyKey: key}, in)
	})
}

func (o *ReasonOptions) record(ctx context.Context, what, done string, send func(*conn.Conn, oapi.ReasonInput) (*http.Response, error)) error {
	at, err := o.Moment(o.Factory)
	if err != nil {
		return kit.Failure{What: what}.Explain(err)
	}
	c, err := o.Factory.Conn(ctx)
	if err != nil {
		return err
	}
	a, err := conn.Expect[oapi.Roll](send(c, oapi.ReasonInput{Reason: o.Reason, At: at}))
	if err != nil {
		return failed(what, o.Number, map[string]string{"reason": "--reason", "at": "--at"}, err)
	}
	return shown(o.Factory, a, &o.Recording, done)
}
