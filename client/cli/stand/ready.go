package stand

import (
	"context"
	"strings"

	"github.com/spf13/cobra"

	"barrelbook/client/cli/kit"
	"barrelbook/client/conn"
	"barrelbook/client/oapi"
	"barrelbook/client/render"
)

// ReadyOptions choose the stand and the role.
type ReadyOptions struct {
	Factory     *kit.Factory
	Stand, Role string
}

// NewCmdReady says which sets may go into a stand.
func NewCmdReady(f *kit.Factory, runF func(context.Context, *ReadyOptions) error) *cobra.Command {
	o := &ReadyOptions{Factory: f}
	cmd := &cobra.Command{
		Use:   "ready STAND",
		Short: "Say which sets may go into a stand now, and why the others may not",
		Long: `Say which sets may go into a stand now, held against the rules by which a roll
change is recorded, and why the others may not. Of the sets that may go in the
plan of changes says which suits best.`,
		Example:           kit.Example("barrelbook stand ready F5", "barrelbook stand ready F5 --role backup"),
		Args:              kit.Args("STAND"),
		ValidArgsFunction: kit.Complete(f, kit.Stands),
		RunE: func(cmd *cobra.Command, args []string) error {
			o.Stand = args[0]
			if runF != nil {
				return runF(cmd.Context(), o)
			}
			return ready(cmd.Context(), o)
		},
	}
	kit.Word(cmd, &o.Role, "role", "work", "which rolls are to be changed", []string{"work", "intermediate", "backup"})
	return cmd
}

func ready(ctx context.Context, o *ReadyOptions) error {
	u, err := o.Factory.Units()
	if err != nil {
		return err
	}
	c, err := o.Factory.Conn(ctx)
	if err != nil {
		return err
	}
	role := oapi.ListSetsForStandParamsRole(o.Role)
	a, err := conn.Expect[oapi.SetsForStand](c.API.ListSetsForStand(ctx, o.Stand, &oapi.ListSetsForStandParams{Role: &role}))
	if err != nil {
		return kit.Failure{Next: []string{kit.Path("stand list")}}.Explain(err)
	}
	return kit.Show(o.Factory, a, func(v oapi.SetsForStand) error {
		t := o.Factory.Term
		may := render.Table{Columns: []render.Column{{Head: "may go in"}, {Head: "top"}, {Head: "bottom"}, u.LengthColumn("top", "").Spared(2), u.LengthColumn("bottom", "").Spared(3), u.SmallColumn("mismatch", "")}}
		not := render.Table{Columns: []render.Column{{Head: "may not"}, {Head: "why"}}}
		for _, s := range v.Items {
			if s.MayGoIn {
				may.Add(s.Set.Name, s.Set.Top, s.Set.Bottom, length(u, s.Set.TopDiameterMm), length(u, s.Set.BottomDiameterMm), render.Bare(u.Small(s.Set.MismatchUm)))
				continue
			}
			not.Add(s.Set.Name, strings.Join(s.Reasons, "; "))
		}
		if len(may.Rows) == 0 {
			t.Print("%s", t.Bad("No set may go into "+v.Stand+" now."))
		}
		if err := may.Write(t); err != nil {
			return err
		}
		if len(not.Rows) > 0 {
			t.Print("")
		}
		return not.Write(t)
	})
}

func length(u render.Units, mm *float64) string {
	if mm == nil {
		return ""
	}
	return render.Bare(u.Length(*mm))
}
