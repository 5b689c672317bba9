package incident

import (
	"context"
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
}

// NewCmdList lists mishaps.
func NewCmdList(f *kit.Factory, runF func(context.Context, *ListOptions) error) *cobra.Command {
	o := &ListOptions{Factory: f}
	cmd := &cobra.Command{
		Use:   "list",
		Short: "List mishaps, newest first",
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
	columns := []render.Column{{Head: "incident", Key: "incident", Spare: 2}, {Head: "at", Key: "at"}, {Head: "what", Key: "what"}, {Head: "stand", Key: "stand"},
		{Head: "rolls", Key: "rolls"}, {Head: "by", Key: "by", Spare: 3}, {Head: "note", Key: "note"}, {Head: "undone", Key: "undone"}}
	return kit.List(o.Factory, &o.Paging, "No mishap is recorded.", columns,
		func(limit *int64, cursor *string) (kit.Page[oapi.Incident], error) {
			a, err := conn.Expect[oapi.IncidentPage](c.API.ListIncidents(ctx, &oapi.ListIncidentsParams{Limit: limit, Cursor: cursor}))
			return kit.Page[oapi.Incident]{Items: a.Value.Items, Next: a.Value.Next, Raw: a.Raw}, err
		},
		func(i oapi.Incident) []string {
			return []string{i.Name, render.Time(i.At), render.Words(i.What), render.Opt(i.Stand), strings.Join(i.Rolls, " "), render.Opt(i.By), render.Opt(i.Note), undone(i)}
		})
}

func undone(i oapi.Incident) string {
	if i.Undone == nil {
		return ""
	}
	return i.Undone.By + ": " + i.Undone.Reason
}
