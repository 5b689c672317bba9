package mill

import (
	"context"

	"github.com/spf13/cobra"

	"barrelbook/client/cli/kit"
	"barrelbook/client/conn"
	"barrelbook/client/oapi"
	"barrelbook/client/render"
)

// AddOptions is a mill as typed.
type AddOptions struct {
	Factory *kit.Factory
	kit.Recording
	Name, Kind, Title string
	Density           kit.OptNumber
}

// NewCmdAdd adds a mill.
func NewCmdAdd(f *kit.Factory, runF func(context.Context, *AddOptions) error) *cobra.Command {
	o := &AddOptions{Factory: f}
	cmd := &cobra.Command{
		Use:     "add NAME",
		Short:   "Add a mill to the works",
		Example: kit.Example("barrelbook mill add HSM --kind hot-strip --title \"Hot strip mill\""),
		Args:    kit.Args("NAME"),
		RunE: func(cmd *cobra.Command, args []string) error {
			o.Name = args[0]
			if runF != nil {
				return runF(cmd.Context(), o)
			}
			return add(cmd.Context(), o)
		},
	}
	kit.Word(cmd, &o.Kind, "kind", "", "what it rolls", []string{"cogging", "billet", "bar", "plate", "hot_strip", "cold_tandem", "temper"})
	cmd.Flags().StringVar(&o.Title, "title", "", "its name in full")
	cmd.Flags().Var(&o.Density, "density", "of the rolled metal, kg/m³; 7850 when left out")
	o.Recording.AddKeyTo(cmd)
	kit.Require(cmd, "kind")
	return cmd
}

func add(ctx context.Context, o *AddOptions) error {
	c, err := o.Factory.Conn(ctx)
	if err != nil {
		return err
	}
	a, err := conn.Expect[oapi.Mill](c.API.CreateMill(ctx, &oapi.CreateMillParams{IdempotencyKey: o.KeyParam()},
		oapi.Mill{Name: o.Name, Kind: oapi.MillKind(o.Kind), Title: kit.OptText(o.Title), DensityKgPerM3: o.Density.Value}))
	if err != nil {
		return kit.Failure{What: "the mill was not added",
			Flag: map[string]string{"name": "NAME", "kind": "--kind", "title": "--title", "density_kg_per_m3": "--density"},
			Next: []string{kit.Path("mill list")}}.Explain(err)
	}
	return kit.Show(o.Factory, a, func(m oapi.Mill) error {
		o.Factory.Term.Print("Mill %s (%s) is added. Next: %s", m.Name, render.Words(m.Kind), kit.Path("stand add NAME --mill %s --order 1", m.Name))
		return nil
	})
}
