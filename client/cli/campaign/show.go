package campaign

import (
	"context"

	"github.com/spf13/cobra"

	"barrelbook/client/cli/kit"
	"barrelbook/client/conn"
	"barrelbook/client/oapi"
)

// ShowOptions choose the campaign.
type ShowOptions struct {
	Factory  *kit.Factory
	Campaign string
	Pieces   bool
}

// NewCmdShow shows one campaign.
func NewCmdShow(f *kit.Factory, runF func(context.Context, *ShowOptions) error) *cobra.Command {
	o := &ShowOptions{Factory: f}
	cmd := &cobra.Command{
		Use:               "show [CAMPAIGN]",
		Short:             "Show a campaign and its planned stops; the newest when none is named",
		Args:              kit.Args("[CAMPAIGN]"),
		ValidArgsFunction: kit.Complete(f, kit.Campaigns),
		RunE: func(cmd *cobra.Command, args []string) error {
			o.Campaign = kit.Arg(args, 0)
			if runF != nil {
				return runF(cmd.Context(), o)
			}
			return show(cmd.Context(), o)
		},
	}
	cmd.Flags().BoolVar(&o.Pieces, "pieces", false, "list its pieces too")
	return cmd
}

func show(ctx context.Context, o *ShowOptions) error {
	u, err := o.Factory.Units()
	if err != nil {
		return err
	}
	c, err := o.Factory.Conn(ctx)
	if err != nil {
		return err
	}
	if o.Campaign, err = kit.CampaignOr(ctx, c, o.Campaign); err != nil {
		return err
	}
	a, err := conn.Expect[oapi.Campaign](c.API.GetCampaign(ctx, o.Campaign))
	if err != nil {
		return kit.Failure{Next: []string{kit.Path("campaign list")}}.Explain(err)
	}
	return kit.Show(o.Factory, a, func(x oapi.Campaign) error { Print(o.Factory.Term, u, x, o.Pieces); return nil })
}
