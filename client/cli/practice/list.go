package practice

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
}

// NewCmdList lists practices.
func NewCmdList(f *kit.Factory, runF func(context.Context, *ListOptions) error) *cobra.Command {
	o := &ListOptions{Factory: f}
	cmd := &cobra.Command{
		Use:   "list",
		Short: "List practices and what they set",
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
	columns := []render.Column{{Head: "practice", Key: "practice"}, {Head: "for", Key: "scope"}, {Head: "version", Key: "version", Right: true, Spare: 1}, {Head: "sets", Key: "values"}}
	return kit.List(o.Factory, &o.Paging, "There is no practice yet: the defaults hold.", columns,
		func(limit *int64, cursor *string) (kit.Page[oapi.Practice], error) {
			a, err := conn.Expect[oapi.PracticePage](c.API.ListPractices(ctx, &oapi.ListPracticesParams{Limit: limit, Cursor: cursor}))
			return kit.Page[oapi.Practice]{Items: a.Value.Items, Next: a.Value.Next, Raw: a.Raw}, err
		},
		func(p oapi.Practice) []string {
			var sets []string
			for _, pair := range given(p.Values) {
				sets = append(sets, pair[0]+"="+pair[1])
			}
			return []string{p.Name, scope(p.Scope), strconv.FormatInt(render.Opt(p.Version), 10), strings.Join(sets, " ")}
		})
}
