// Package grade holds the commands on roll grades.
package grade

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
	return kit.Noun("grade", "List roll grades, add roll grades", NewCmdList(f, nil), NewCmdAdd(f, nil))
}

// ListOptions choose the page.
type ListOptions struct {
	Factory *kit.Factory
	kit.Paging
}

// NewCmdList lists grades.
func NewCmdList(f *kit.Factory, runF func(context.Context, *ListOptions) error) *cobra.Command {
	o := &ListOptions{Factory: f}
	cmd := &cobra.Command{
		Use:   "list",
		Short: "List roll grades and their properties",
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
	columns := []render.Column{{Head: "grade", Key: "grade"}, {Head: "family", Key: "family"}, {Head: "title", Key: "title", Spare: 4},
		{Head: "modulus, MPa", Key: "elastic_modulus_mpa", Right: true}, {Head: "Poisson's ratio", Key: "poisson_ratio", Right: true, Spare: 2},
		{Head: "density, kg/m³", Key: "density_kg_per_m3", Right: true, Spare: 3}, {Head: "allowable stress, MPa", Key: "allowable_stress_mpa", Right: true}}
	return kit.List(o.Factory, &o.Paging, "There is no grade yet.", columns,
		func(limit *int64, cursor *string) (kit.Page[oapi.Grade], error) {
			a, err := conn.Expect[oapi.GradePage](c.API.ListGrades(ctx, &oapi.ListGradesParams{Limit: limit, Cursor: cursor}))
			return kit.Page[oapi.Grade]{Items: a.Value.Items, Next: a.Value.Next, Raw: a.Raw}, err
		},
		func(g oapi.Grade) []string {
			return []string{g.Name, render.Words(g.Family), render.Opt(g.Title), number(g.ElasticModulusMpa), number(g.PoissonRatio), number(g.DensityKgPerM3), number(g.AllowableStressMpa)}
		})
}

func number(v *float64) string {
	if v == nil {
		return ""
	}
	return render.Number(*v, 6)
}
