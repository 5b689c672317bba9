package roll

import (
	"context"
	"net/http"

	"github.com/spf13/cobra"

	"barrelbook/client/cli/kit"
	"barrelbook/client/conn"
	"barrelbook/client/oapi"
)

// NewCmdConcede releases a roll of which something asked is missing.
func NewCmdConcede(f *kit.Factory, runF func(context.Context, *ReasonOptions) error) *cobra.Command {
	o := &ReasonOptions{Factory: f}
	cmd := &cobra.Command{
		Use:   "concede NUMBER",
		Short: "Release a roll although something asked of it is missing (engineer)",
		Long: `Release a roll although something asked of it is missing. The reason stays in
the book and is shown until the next grind, mishap or withdrawal ends the
concession. It covers what is missing now. What was found wrong, is owed after a
mishap, or was tested without a known result cannot be conceded.`,
		Example:           kit.Example("barrelbook roll concede R1234 --reason \"roughness gauge out for repair; ground with the wheel and feed of yesterday\""),
		Args:              kit.Args("NUMBER"),
		ValidArgsFunction: kit.Complete(f, kit.Rolls),
		RunE: func(cmd *cobra.Command, args []string) error {
			o.Number = args[0]
			if runF != nil {
				return runF(cmd.Context(), o)
			}
			return concede(cmd.Context(), o)
		},
	}
	o.addTo(cmd)
	return cmd
}

func concede(ctx context.Context, o *ReasonOptions) error {
	return o.record(ctx, "the roll was not released", o.Number+" is released by concession.", func(c *conn.Conn, in oapi.ReasonInput) (*http.Response, error) {
		dry, key := o.Params()
		return c.API.ConcedeRoll(ctx, o.Number, &oapi.ConcedeRollParams{DryRun: dry, IdempotencyKey: key}, in)
	})
}
