package stand

import (
	"context"
	"strconv"

	"github.com/spf13/cobra"

	"barrelbook/client/cli/kit"
	"barrelbook/client/conn"
	"barrelbook/client/oapi"
	"barrelbook/client/render"
)

// ListOptions choose the stands.
type ListOptions struct {
	Factory *kit.Factory
	kit.Paging
	Mill string
}

// NewCmdList lists stands.
func NewCmdList(f *kit.Factory, runF func(context.Context, *ListOptions) error) *cobra.Command {
	o := &ListOptions{Factory: f}
	cmd := &cobra.Command{
		Use:   "list",
		Short: "List stands in pass order",
		Args:  kit.Args(),
		RunE: func(cmd *cobra.Command, _ []string) error {
			if runF != nil {
				return runF(cmd.Context(), o)
			}
			return list(cmd.Context(), o)
		},
	}
	cmd.Flags().StringVar(&o.Mill, "mill", "", "only stands of this `MILL`")
	o.Paging.AddTo(cmd)
	kit.CompleteFlag(f, cmd, "mill", kit.Mills)
	return cmd
}

func list(ctx context.Context, o *ListOptions) error {
	c, err := o.Factory.Conn(ctx)
	if err != nil {
		return err
	}
	columns := []render.Column{{Head: "stand", Key: "stand"}, {Head: "mill", Key: "mill"}, {Head: "number", Key: "order", Right: true},
		{Head: "arrangement", Key: "arrangement"}, {Head: "reversing", Key: "reversing"}, {Head: "force up to, kN", Key: "max_force_kn", Right: true}}
	return kit.List(o.Factory, &o.Paging, "There is no stand yet.", columns,
		func(limit *int64, cursor *string) (kit.Page[oapi.Stand], error) {
			a, err := conn.Expect[oapi.StandPage](c.API.ListStands(ctx, &oapi.ListStandsParams{Mill: kit.OptText(o.Mill), Limit: limit, Cursor: cursor}))
			return kit.Page[oapi.Stand]{Items: a.Value.Items, Next: a.Value.Next, Raw: a.Raw}, err
		},
		func(s oapi.Stand) []string {
			force, reversing := "", "no"
			if s.MaxForceKn != nil {
				force = render.Number(*s.MaxForceKn, 5)
			}
			if render.Opt(s.Reversing) {
				reversing = "yes"
			}
			return []string{s.Name, s.Mill, strconv.FormatInt(s.Order, 10), render.Words(s.Arrangement), reversing, force}
		})
}
