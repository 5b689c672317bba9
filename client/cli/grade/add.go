package grade

import (
	"context"

	"github.com/spf13/cobra"

	"barrelbook/client/cli/kit"
	"barrelbook/client/conn"
	"barrelbook/client/oapi"
	"barrelbook/client/render"
	"barrelbook/domain/quantity"
)

// AddOptions is a grade as typed.
type AddOptions struct {
	Factory *kit.Factory
	kit.Recording
	Name, Family, Title                                     string
	Modulus, Allowable                                      string
	Poisson, Density, Expansion, Conductivity, SpecificHeat kit.OptNumber
}

var families = []string{"cast_steel", "forged_steel", "nodular_iron", "high_chromium_steel", "high_chromium_iron", "high_speed_steel",
	"semi_high_speed_steel", "indefinite_chill", "forged_chromium_steel", "chilled_iron"}

var addFlags = map[string]string{
	"name": "NAME", "family": "--family", "title": "--title", "elastic_modulus_mpa": "--modulus", "poisson_ratio": "--poisson",
	"density_kg_per_m3": "--density", "expansion_per_k": "--expansion", "conductivity_w_per_mk": "--conductivity",
	"specific_heat_j_per_kgk": "--specific-heat", "allowable_stress_mpa": "--allowable-stress",
}

// NewCmdAdd adds a grade.
func NewCmdAdd(f *kit.Factory, runF func(context.Context, *AddOptions) error) *cobra.Command {
	o := &AddOptions{Factory: f}
	cmd := &cobra.Command{
		Use:     "add NAME",
		Short:   "Add a roll grade",
		Example: kit.Example("barrelbook grade add HSS-1 --family high-speed-steel --modulus 230GPa --poisson 0.29"),
		Args:    kit.Args("NAME"),
		RunE: func(cmd *cobra.Command, args []string) error {
			o.Name = args[0]
			if runF != nil {
				return runF(cmd.Context(), o)
			}
			return add(cmd.Context(), o)
		},
	}
	fl := cmd.Flags()
	kit.Word(cmd, &o.Family, "family", "", "what it is made of", families)
	fl.StringVar(&o.Title, "title", "", "its name in full")
	fl.StringVar(&o.Modulus, "modulus", "", "elastic modulus (`STRESS`: 206000, 206GPa); 206 GPa when left out")
	fl.Var(&o.Poisson, "poisson", "Poisson's ratio; 0.3 when left out")
	fl.Var(&o.Density, "density", "kg/m³; 7850 when left out")
	fl.Var(&o.Expansion, "expansion", "per K; 12e-6 when left out")
	fl.Var(&o.Conductivity, "conductivity", "W/(m K); 30 when left out")
	fl.Var(&o.SpecificHeat, "specific-heat", "J/(kg K); 480 when left out")
	fl.StringVar(&o.Allowable, "allowable-stress", "", "of neck and core, for the overload margin (`STRESS`)")
	o.Recording.AddKeyTo(cmd)
	kit.Require(cmd, "family")
	return cmd
}

func add(ctx context.Context, o *AddOptions) error {
	const what = "the grade was not added"
	e, err := kit.NewEntry(o.Factory)
	if err != nil {
		return err
	}
	in := oapi.Grade{Name: o.Name, Family: oapi.GradeFamily(o.Family), Title: kit.OptText(o.Title),
		ElasticModulusMpa: e.OptValue("--modulus", o.Modulus, quantity.Stress), AllowableStressMpa: e.OptValue("--allowable-stress", o.Allowable, quantity.Stress),
		PoissonRatio: o.Poisson.Value, DensityKgPerM3: o.Density.Value, ExpansionPerK: o.Expansion.Value,
		ConductivityWPerMk: o.Conductivity.Value, SpecificHeatJPerKgk: o.SpecificHeat.Value}
	if err := e.Err(); err != nil {
		return kit.Failure{What: what}.Explain(err)
	}
	c, err := o.Factory.Conn(ctx)
	if err != nil {
		return err
	}
	a, err := conn.Expect[oapi.Grade](c.API.CreateGrade(ctx, &oapi.CreateGradeParams{IdempotencyKey: o.KeyParam()}, in))
	if err != nil {
		return kit.Failure{What: what, Flag: addFlags, Next: []string{kit.Path("grade list")}}.Explain(err)
	}
	return kit.Show(o.Factory, a, func(g oapi.Grade) error {
		o.Factory.Term.Print("Grade %s (%s) is added.", g.Name, render.Words(g.Family))
		return nil
	})
}
