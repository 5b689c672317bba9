package change

import (
	"context"

	"github.com/spf13/cobra"

	"barrelbook/client/cli/kit"
	"barrelbook/client/conn"
	"barrelbook/client/oapi"
	"barrelbook/client/render"
)

// ListOptions choose the changes.
type ListOptions struct {
	Factory *kit.Factory
	kit.Paging
	Stand string
}

// NewCmdList lists roll changes.
func NewCmdList(f *kit.Factory, runF func(context.Context, *ListOptions) error) *cobra.Command {
	o := &ListOptions{Factory: f}
	cmd := &cobra.Command{
		Use:     "list",
		Short:   "List roll changes, newest first",
		Example: kit.Example("barrelbook change list --stand F3"),
		Args:    kit.Args(),
		RunE: func(cmd *cobra.Command, _ []string) error {
			if runF != nil {
				return runF(cmd.Context(), o)
			}
			return list(cmd.Context(), o)
		},
	}
	cmd.Flags().StringVar(&o.Stand, "stand", "", "only changes at this `STAND`")
	o.Paging.AddTo(cmd)
	kit.CompleteFlag(f, cmd, "stand", kit.Stands)
	return cmd
}

func list(ctx context.Context, o *ListOptions) error {
	c, err := o.Factory.Conn(ctx)
	if err != nil {
		return err
	}
	columns := []render.Column{{Head: "change", Key: "change", Spare: 3}, {Head: "at", Key: "at"}, {Head: "stand", Key: "stand"}, {Head: "role", Key: "role", Spare: 2},
		{Head: "out", Key: "set_out"}, {Head: "in", Key: "set_in"}, {Head: "why", Key: "why"}, {Head: "by", Key: "by", Spare: 1}, {Head: "note", Key: "note", Spare: 4}}
	return kit.List(o.Factory, &o.Paging, "There is no roll change yet.", columns,
		func(limit *int64, cursor *string) (kit.Page[oapi.Change], error) {
			a, err := conn.Expect[oapi.ChangePage](c.API.ListChanges(ctx, &oapi.ListChangesParams{Stand: kit.OptText(o.Stand), Limit: limit, Cursor: cursor}))
			return kit.Page[oapi.Change]{Items: a.Value.Items, Next: a.Value.Next, Raw: a.Raw}, err
		},
		func(ch oapi.Change) []string {
			return []string{ch.Name, render.Time(ch.At), ch.Stand, string(ch.Role), render.Opt(ch.SetOut), render.Opt(ch.SetIn),
				render.Words(render.Opt(ch.Why)), render.Opt(ch.By), remark(ch)}
		})
}

// remark is the note of a change, or that it was undone.
func remark(ch oapi.Change) string {
	if ch.Undone != nil {
		return "undone: " + ch.Undone.Reason
	}
	return render.Opt(ch.Note)
}
