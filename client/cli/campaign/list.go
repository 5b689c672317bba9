package campaign

import (
	"context"
	"strconv"

	"github.com/spf13/cobra"

	"barrelbook/client/cli/kit"
	"barrelbook/client/conn"
	"barrelbook/client/oapi"
	"barrelbook/client/render"
)

// ListOptions choose the campaigns.
type ListOptions struct {
	Factory *kit.Factory
	kit.Paging
	Mill string
}

// NewCmdList lists campaigns.
func NewCmdList(f *kit.Factory, runF func(context.Context, *ListOptions) error) *cobra.Command {
	o := &ListOptions{Factory: f}
	cmd := &cobra.Command{
		Use:   "list",
		Short: "List campaigns, newest first",
		Args:  kit.Args(),
		RunE: func(cmd *cobra.Command, _ []string) error {
			if runF != nil {
				return runF(cmd.Context(), o)
			}
			return list(cmd.Context(), o)
		},
	}
	cmd.Flags().StringVar(&o.Mill, "mill", "", "only campaigns of this `MILL`")
	o.Paging.AddTo(cmd)
	kit.CompleteFlag(f, cmd, "mill", kit.Mills)
	return cmd
}

func list(ctx context.Context, o *ListOptions) error {
	u, err := o.Factory.Units()
	if err != nil {
		return err
	}
	c, err := o.Factory.Conn(ctx)
	if err != nil {
		return err
	}
	columns := []render.Column{{Head: "campaign", Key: "campaign"}, {Head: "mill", Key: "mill"}, {Head: "starts", Key: "starts_at"},
		{Head: "pieces", Key: "piece_count", Right: true}, u.MassColumn("tonnage", "tonnage"), {Head: "planned stops", Key: "planned_stop_count", Right: true}}
	return kit.List(o.Factory, &o.Paging, "No campaign is loaded.", columns,
		func(limit *int64, cursor *string) (kit.Page[oapi.Campaign], error) {
			a, err := conn.Expect[oapi.CampaignPage](c.API.ListCampaigns(ctx, &oapi.ListCampaignsParams{Mill: kit.OptText(o.Mill), Limit: limit, Cursor: cursor}))
			return kit.Page[oapi.Campaign]{Items: a.Value.Items, Next: a.Value.Next, Raw: a.Raw}, err
		},
		func(x oapi.Campaign) []string {
			return []string{x.Name, x.Mill, render.Time(x.StartsAt), strconv.FormatInt(x.PieceCount, 10), render.Bare(u.Mass(x.TonnageT)), strconv.Itoa(len(x.PlannedStops))}
		})
}
