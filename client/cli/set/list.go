package set

import (
	"context"

	"github.com/spf13/cobra"

	"barrelbook/client/cli/kit"
	"barrelbook/client/conn"
	"barrelbook/client/oapi"
	"barrelbook/client/render"
)

// ListOptions choose the sets.
type ListOptions struct {
	Factory *kit.Factory
	kit.Paging
	Role, Mill string
	Ready      bool
}

// NewCmdList lists sets.
func NewCmdList(f *kit.Factory, runF func(context.Context, *ListOptions) error) *cobra.Command {
	o := &ListOptions{Factory: f}
	cmd := &cobra.Command{
		Use:     "list",
		Short:   "List the standing sets",
		Example: kit.Example("barrelbook set list --ready"),
		Args:    kit.Args(),
		RunE: func(cmd *cobra.Command, _ []string) error {
			if runF != nil {
				return runF(cmd.Context(), o)
			}
			return list(cmd.Context(), o)
		},
	}
	kit.Word(cmd, &o.Role, "role", "", "only sets of this role", []string{"work", "backup", "intermediate"})
	cmd.Flags().StringVar(&o.Mill, "mill", "", "only sets of this `MILL`")
	cmd.Flags().BoolVar(&o.Ready, "ready", false, "only sets that could be mounted now")
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
	p := oapi.ListSetsParams{Role: kit.OptWord[oapi.Role](o.Role), Mill: kit.OptText(o.Mill)}
	if o.Ready {
		p.Ready = &o.Ready
	}
	columns := []render.Column{
		{Head: "set", Key: "set"}, {Head: "role", Key: "role", Spare: 2}, {Head: "top", Key: "top"}, {Head: "bottom", Key: "bottom"},
		u.LengthColumn("top", "top_diameter").Spared(3), u.LengthColumn("bottom", "bottom_diameter").Spared(4),
		u.SmallColumn("mismatch", "mismatch"), u.SmallColumn("allowed", "tolerance").Spared(1),
		{Head: "stage", Key: "stage"}, {Head: "stand", Key: "stand"}, {Head: "fit", Key: "fit"},
	}
	none := "No set is like that."
	if p == (oapi.ListSetsParams{}) {
		none = "No sets yet: " + kit.Path("set build TOP BOTTOM") + " makes one."
	}
	return kit.List(o.Factory, &o.Paging, none, columns,
		func(limit *int64, cursor *string) (kit.Page[oapi.Set], error) {
			p.Limit, p.Cursor = limit, cursor
			a, err := conn.Expect[oapi.SetPage](c.API.ListSets(ctx, &p))
			return kit.Page[oapi.Set]{Items: a.Value.Items, Next: a.Value.Next, Raw: a.Raw}, err
		},
		func(s oapi.Set) []string {
			return []string{s.Name, string(s.Role), s.Top, s.Bottom, optLength(u, s.TopDiameterMm), optLength(u, s.BottomDiameterMm),
				render.Bare(u.Small(s.MismatchUm)), render.Bare(u.Small(s.ToleranceUm)), render.Words(s.Stage), render.Opt(s.Stand), render.Words(s.Fit.Verdict)}
		})
}

func optLength(u render.Units, mm *float64) string {
	if mm == nil {
		return ""
	}
	return render.Bare(u.Length(*mm))
}
