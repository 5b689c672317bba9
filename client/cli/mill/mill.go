// Package mill holds the commands on mills.
package mill

import (
	"context"

	"github.com/spf13/cobra"

	"barrelbook/client/cli/kit"
	"barrelbook/client/conn"
	"barrelbook/client/oapi"
	"barrelbook/client/render"
)

// NewCmd gathers the verbs.
func NewCmd(f *kit.Factory) *cobra.Command {
	return kit.Noun("mill", "List mills, add mills", NewCmdList(f, nil), NewCmdAdd(f, nil))
}

// ListOptions choose the page.
type ListOptions struct {
	Factory *kit.Factory
	kit.Paging
}

// NewCmdList lists mills.
func NewCmdList(f *kit.Factory, runF func(context.Context, *ListOptions) error) *cobra.Command {
	o := &ListOptions{Factory: f}
	cmd := &cobra.Command{
		Use:   "list",
		Short: "List the mills of the works",
		Args:  kit.Args(),
		RunE: func(cmd *cobra.Command, _ []string) error {
			if runF != nil {
				return runF(cmd.Context(), o)
			}
			return list(cmd.Context(), o)
		},
	}
	o.Paging.AddTo(cmd)
	return cmd
}

func list(ctx context.Context, o *ListOptions) error {
	c, err := o.Factory.Conn(ctx)
	if err != nil {
		return err
	}
	columns := []render.Column{{Head: "mill", Key: "mill"}, {Head: "kind", Key: "kind"}, {Head: "title", Key: "title"}}
	return kit.List(o.Factory, &o.Paging, "There is no mill yet.", columns,
		func(limit *int64, cursor *string) (kit.Page[oapi.Mill], error) {
			a, err := conn.Expect[oapi.MillPage](c.API.ListMills(ctx, &oapi.ListMillsParams{Limit: limit, Cursor: cursor}))
			return kit.Page[oapi.Mill]{Items: a.Value.Items, Next: a.Value.Next, Raw: a.Raw}, err
		},
		func(m oapi.Mill) []string { return []string{m.Name, render.Words(m.Kind), render.Opt(m.Title)} })
}
