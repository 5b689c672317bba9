package order

import (
	"context"
	"strconv"
	"strings"

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
	Mill string
	All  bool
}

// NewCmdList lists orders.
func NewCmdList(f *kit.Factory, runF func(context.Context, *ListOptions) error) *cobra.Command {
	o := &ListOptions{Factory: f}
	cmd := &cobra.Command{
		Use:   "list",
		Short: "List the orders of which rolls are to come, the next one due first",
		Args:  kit.Args(),
		RunE: func(cmd *cobra.Command, _ []string) error {
			if runF != nil {
				return runF(cmd.Context(), o)
			}
			return list(cmd.Context(), o)
		},
	}
	cmd.Flags().StringVar(&o.Mill, "mill", "", "only those of this `MILL`")
	cmd.Flags().BoolVar(&o.All, "closed", false, "also those of which nothing more comes")
	o.Paging.AddTo(cmd)
	kit.CompleteFlag(f, cmd, "mill", kit.Mills)
	return cmd
}

func list(ctx context.Context, o *ListOptions) error {
	c, err := o.Factory.Conn(ctx)
	if err != nil {
		return err
	}
	columns := []render.Column{{Head: "order", Key: "order"}, {Head: "due", Key: "due"}, {Head: "to come", Key: "to_come", Right: true}, {Head: "of", Key: "of", Right: true},
		{Head: "role", Key: "role"}, {Head: "for", Key: "for"}, {Head: "grade", Key: "grade"}, {Head: "supplier", Key: "supplier"}}
	open := !o.All
	return kit.List(o.Factory, &o.Paging, "Nothing is on order.", columns,
		func(limit *int64, cursor *string) (kit.Page[oapi.Order], error) {
			a, err := conn.Expect[oapi.OrderPage](c.API.ListOrders(ctx, &oapi.ListOrdersParams{Limit: limit, Cursor: cursor, Mill: kit.OptText(o.Mill), Open: &open}))
			return kit.Page[oapi.Order]{Items: a.Value.Items, Next: a.Value.Next, Raw: a.Raw}, err
		},
		func(w oapi.Order) []string {
			return []string{w.Name, due(w), strconv.FormatInt(w.ToComeCount, 10), strconv.FormatInt(w.RollCount, 10), string(w.Role),
				strings.Join(append([]string{w.Mill}, render.Opt(w.Stands)...), " "), render.Opt(w.Grade), render.Opt(w.Supplier)}
		})
}
