package roll

import (
	"context"

	"github.com/spf13/cobra"

	"barrelbook/client/cli/kit"
	"barrelbook/client/conn"
	"barrelbook/client/oapi"
	"barrelbook/client/render"
)

// MountingsOptions choose the roll and the pages.
type MountingsOptions struct {
	Factory *kit.Factory
	kit.Paging
	Number string
}

// NewCmdMountings lists where a roll has been.
func NewCmdMountings(f *kit.Factory, runF func(context.Context, *MountingsOptions) error) *cobra.Command {
	o := &MountingsOptions{Factory: f}
	cmd := &cobra.Command{
		Use:               "mountings NUMBER",
		Short:             "List the stays of a roll in stands and what it bore in each, newest first",
		Args:              kit.Args("NUMBER"),
		ValidArgsFunction: kit.Complete(f, kit.Rolls),
		RunE: func(cmd *cobra.Command, args []string) error {
			o.Number = args[0]
			if runF != nil {
				return runF(cmd.Context(), o)
			}
			return mountings(cmd.Context(), o)
		},
	}
	o.Paging.AddTo(cmd)
	return cmd
}

func mountings(ctx context.Context, o *MountingsOptions) error {
	u, err := o.Factory.Units()
	if err != nil {
		return err
	}
	c, err := o.Factory.Conn(ctx)
	if err != nil {
		return err
	}
	columns := []render.Column{
		{Head: "stand", Key: "stand"}, {Head: "position", Key: "position", Spare: 1}, {Head: "set", Key: "set", Spare: 2},
		{Head: "in", Key: "mounted_at"}, {Head: "out", Key: "withdrawn_at"},
		u.MassColumn("rolled", "tonnage"), u.RolledColumn("length", "rolled"), u.SmallColumn("wear", "wear"),
	}
	err = kit.List(o.Factory, &o.Paging, "It has not been in a stand.", columns,
		func(limit *int64, cursor *string) (kit.Page[oapi.Mounting], error) {
			a, err := conn.Expect[oapi.MountingPage](c.API.ListMountings(ctx, o.Number, &oapi.ListMountingsParams{Limit: limit, Cursor: cursor}))
			return kit.Page[oapi.Mounting]{Items: a.Value.Items, Next: a.Value.Next, Raw: a.Raw}, err
		},
		func(m oapi.Mounting) []string {
			wear := ""
			if m.Usage.WearUm != nil {
				wear = render.Bare(u.Small(*m.Usage.WearUm))
			}
			return []string{m.Stand, render.Words(m.Position), render.Opt(m.Set), render.Time(m.MountedAt), render.OptTime(m.WithdrawnAt),
				render.Bare(u.Mass(m.Usage.TonnageT)), render.Bare(u.Rolled(m.Usage.RolledKm)), wear}
		})
	return kit.Failure{Next: []string{kit.Path("roll list")}}.Explain(err)
}
