package chock

import (
	"context"
	"fmt"

	"github.com/spf13/cobra"

	"barrelbook/client/cli/kit"
	"barrelbook/client/conn"
	"barrelbook/client/oapi"
	"barrelbook/client/render"
)

// ListOptions choose the page.
type ListOptions struct {
	Factory *kit.Factory
	kit.Paging
	Mill, Set string
}

// NewCmdList lists chocks.
func NewCmdList(f *kit.Factory, runF func(context.Context, *ListOptions) error) *cobra.Command {
	o := &ListOptions{Factory: f}
	cmd := &cobra.Command{
		Use:   "list",
		Short: "List chocks by name, with what their bearings have run",
		Args:  kit.Args(),
		RunE: func(cmd *cobra.Command, _ []string) error {
			if runF != nil {
				return runF(cmd.Context(), o)
			}
			return list(cmd.Context(), o)
		},
	}
	cmd.Flags().StringVar(&o.Mill, "mill", "", "only those of this `MILL`")
	cmd.Flags().StringVar(&o.Set, "set", "", "only those on this `SET`")
	o.Paging.AddTo(cmd)
	kit.CompleteFlag(f, cmd, "mill", kit.Mills)
	kit.CompleteFlag(f, cmd, "set", kit.Sets)
	return cmd
}

func list(ctx context.Context, o *ListOptions) error {
	c, err := o.Factory.Conn(ctx)
	if err != nil {
		return err
	}
	u, err := o.Factory.Units()
	if err != nil {
		return err
	}
	columns := []render.Column{{Head: "chock", Key: "chock"}, {Head: "set", Key: "set"}, {Head: "stand", Key: "stand"}, {Head: "bearing", Key: "bearing"},
		{Head: "hours", Key: "hours", Right: true, Spare: 2}, {Head: "borne", Key: "borne", Right: true, Spare: 1}, {Head: "condition", Key: "condition"}, {Head: "due", Key: "due"}}
	return kit.List(o.Factory, &o.Paging, "There is no chock.", columns,
		func(limit *int64, cursor *string) (kit.Page[oapi.Chock], error) {
			a, err := conn.Expect[oapi.ChockPage](c.API.ListChocks(ctx, &oapi.ListChocksParams{Limit: limit, Cursor: cursor, Mill: kit.OptText(o.Mill), Set: kit.OptText(o.Set)}))
			return kit.Page[oapi.Chock]{Items: a.Value.Items, Next: a.Value.Next, Raw: a.Raw}, err
		},
		func(k oapi.Chock) []string {
			due := ""
			if k.InspectionDue {
				due = "inspection"
			}
			return []string{k.Name, where(k), render.Opt(k.Stand), k.Bearing, fmt.Sprintf("%.1f", k.BearingHoursH), u.Mass(k.BearingTonnageT), render.Words(k.Condition), due}
		})
}
