// Package audit shows who did what.
package audit

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
	return kit.Noun("audit", "See who did what", NewCmdList(f, nil))
}

// ListOptions choose the page.
type ListOptions struct {
	Factory *kit.Factory
	kit.Paging
}

// NewCmdList lists what was done.
func NewCmdList(f *kit.Factory, runF func(context.Context, *ListOptions) error) *cobra.Command {
	o := &ListOptions{Factory: f}
	cmd := &cobra.Command{
		Use:   "list",
		Short: "List who did what, newest first",
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
	columns := []render.Column{{Head: "at", Key: "at"}, {Head: "by", Key: "by"}, {Head: "what", Key: "what"}, {Head: "request", Key: "request_id", Spare: 1}}
	return kit.List(o.Factory, &o.Paging, "Nothing is recorded.", columns,
		func(limit *int64, cursor *string) (kit.Page[oapi.AuditLine], error) {
			a, err := conn.Expect[oapi.AuditPage](c.API.ListAudit(ctx, &oapi.ListAuditParams{Limit: limit, Cursor: cursor}))
			return kit.Page[oapi.AuditLine]{Items: a.Value.Items, Next: a.Value.Next, Raw: a.Raw}, err
		},
		func(l oapi.AuditLine) []string {
			return []string{render.Time(l.At), l.By, l.What, render.Opt(l.RequestId)}
		})
}
