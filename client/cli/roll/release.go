package roll

import (
	"context"
	"net/http"

	"github.com/spf13/cobra"

	"barrelbook/client/cli/kit"
	"barrelbook/client/conn"
	"barrelbook/client/oapi"
)

// NewCmdRelease ends a hold.
func NewCmdRelease(f *kit.Factory, runF func(context.Context, *ReasonOptions) error) *cobra.Command {
	o := &ReasonOptions{Factory: f}
	cmd := &cobra.Command{
		Use:               "release NUMBER",
		Short:             "Release a held roll",
		Example:           kit.Example("barrelbook roll release R1234 --reason \"ultrasonic test passed, certificate 88\""),
		Args:              kit.Args("NUMBER"),
		ValidArgsFunction: kit.Complete(f, kit.Held),
		RunE: func(cmd *cobra.Command, args []string) error {
			o.Number = args[0]
			if runF != nil {
				return runF(cmd.Context(), o)
			}
			return release(cmd.Context(), o)
		},
	}
	o.addTo(cmd)
	return cmd
}

func release(ctx context.Context, o *ReasonOptions) error {
	return o.record(ctx, "the roll was not released", o.Number+" is released.", func(c *conn.Conn, in oapi.ReasonInput) (*http.Response, error) {
		dry, key := o.Params()
		return c.API.ReleaseRoll(ctx, o.Number, &oapi.ReleaseRollParams{DryRun: dry, IdempotencyKey: key}, in)
	})
}
