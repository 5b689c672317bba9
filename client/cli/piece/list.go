package piece

import (
	"context"
	"strings"

	"github.com/spf13/cobra"

	"barrelbook/client/cli/kit"
	"barrelbook/client/conn"
	"barrelbook/client/oapi"
	"barrelbook/client/render"
)

// ListOptions choose the pieces.
type ListOptions struct {
	Factory *kit.Factory
	kit.Paging
	Mill string
}

// NewCmdList lists rolled pieces.
func NewCmdList(f *kit.Factory, runF func(context.Context, *ListOptions) error) *cobra.Command {
	o := &ListOptions{Factory: f}
	cmd := &cobra.Command{
		Use:   "list",
		Short: "List rolled pieces, newest first",
		Args:  kit.Args(),
		RunE: func(cmd *cobra.Command, _ []string) error {
			if runF != nil {
				return runF(cmd.Context(), o)
			}
			return list(cmd.Context(), o)
		},
	}
	cmd.Flags().StringVar(&o.Mill, "mill", "", "only pieces of this `MILL`")
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
	columns := []render.Column{{Head: "piece", Key: "id"}, {Head: "source", Key: "source", Spare: 4}, {Head: "mill", Key: "mill", Spare: 5}, {Head: "rolled", Key: "rolled_at"},
		{Head: "material", Key: "material", Spare: 1}, u.MassColumn("mass", "mass"), u.LengthColumn("width", "width"), u.LengthColumn("entry", "entry_thickness").Spared(2),
		u.LengthColumn("exit", "exit_thickness").Spared(1), {Head: "stands", Key: "stands", Spare: 3}}
	return kit.List(o.Factory, &o.Paging, "No piece has been rolled yet.", columns,
		func(limit *int64, cursor *string) (kit.Page[oapi.PieceInput], error) {
			a, err := conn.Expect[oapi.PiecePage](c.API.ListPieces(ctx, &oapi.ListPiecesParams{Mill: kit.OptText(o.Mill), Limit: limit, Cursor: cursor}))
			return kit.Page[oapi.PieceInput]{Items: a.Value.Items, Next: a.Value.Next, Raw: a.Raw}, err
		},
		func(p oapi.PieceInput) []string {
			exit, stands := "", []string{}
			for _, pass := range p.Passes {
				exit = render.Bare(u.Dimension(pass.ExitThicknessMm))
				stands = append(stands, pass.Stand)
			}
			return []string{p.Id, p.Source, p.Mill, render.Time(p.RolledAt), render.Opt(p.Material), render.Bare(u.Mass(p.MassT)),
				render.Bare(u.Dimension(p.WidthMm)), render.Bare(u.Dimension(p.EntryThicknessMm)), exit, strings.Join(stands, " ")}
		})
}
