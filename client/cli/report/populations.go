package report

import (
	"context"
	"fmt"

	"github.com/spf13/cobra"

	"barrelbook/client/cli/kit"
	"barrelbook/client/conn"
	"barrelbook/client/oapi"
	"barrelbook/client/render"
)

// PopulationsOptions choose the rolls and how their age is counted.
type PopulationsOptions struct {
	Asked
	By, Age, Mill string
	Steps         bool
}

// NewCmdPopulations reports how long rolls last.
func NewCmdPopulations(f *kit.Factory, runF func(context.Context, *PopulationsOptions) error) *cobra.Command {
	o := &PopulationsOptions{Asked: Asked{Factory: f}}
	cmd := command(&cobra.Command{
		Use:   "populations",
		Short: "How long rolls last before a spall, a crack or a neck ends them",
		Long: "A Weibull distribution is fitted to the lives of each sort of rolls, with Kaplan and Meier's curve beside it.\n" +
			"Rolls that live, and those scrapped at their diameter, count as lasting at least so long.",
		Example: kit.Example("barrelbook report populations", "barrelbook report populations --by supplier --age km", "barrelbook report populations --steps --csv"),
	}, &o.Asked, o, populations, runF)
	kit.Word(cmd, &o.By, "by", "grade", "one row for each", []string{"grade", "supplier"})
	kit.Word(cmd, &o.Age, "age", "tonnes", "what age is counted in", []string{"tonnes", "km"})
	cmd.Flags().StringVar(&o.Mill, "mill", "", "only of this `MILL`")
	cmd.Flags().BoolVar(&o.Steps, "steps", false, "with the steps of the curve; with --csv, them alone")
	kit.CompleteFlag(f, cmd, "mill", kit.Mills)
	return cmd
}

func populations(ctx context.Context, o *PopulationsOptions) error {
	u, err := o.Factory.Units()
	if err != nil {
		return err
	}
	c, err := o.Factory.Conn(ctx)
	if err != nil {
		return err
	}
	by, counted := oapi.PopulationsBy(o.By), oapi.RollAge(o.Age)
	a, err := conn.Expect[oapi.PopulationsReport](c.API.ReportPopulations(ctx, &oapi.ReportPopulationsParams{By: &by, Age: &counted, Mill: kit.OptText(o.Mill)}))
	if err != nil {
		return kit.Failure{Flag: map[string]string{"mill": "--mill"}, Next: []string{kit.Path("mill list")}}.Explain(err)
	}
	age, column := u.Mass, u.MassColumn
	if a.Value.Age == "km" {
		age, column = u.Rolled, u.RolledColumn
	}
	table, steps := populationTable(a.Value, age, column), stepTable(a.Value, age, column)
	rows := table
	if o.Steps {
		rows = steps
	}
	return show(&o.Asked, a, rows, func() error {
		t := o.Factory.Term
		if len(table.Rows) == 0 {
			t.Say("There are no rolls: barrelbook roll receive")
			return nil
		}
		if err := table.Write(t); err != nil {
			return err
		}
		if o.Steps && len(steps.Rows) > 0 {
			t.Print("")
			if err := steps.Write(t); err != nil {
				return err
			}
		}
		render.Bullets(t, "\nNotes:", a.Value.Notes)
		return nil
	})
}

func populationTable(r oapi.PopulationsReport, age func(float64) string, column func(what, key string) render.Column) *render.Table {
	t := &render.Table{Columns: []render.Column{
		{Head: string(r.By), Key: "key"}, {Head: "role", Key: "role", Spare: 4}, right("rolls", "roll_count"), right("spall", "spall_count").Spared(1), right("crack", "crack_count"), right("neck", "neck_count"),
		right("planned", "planned_count"), right("money", "economic_count"), right("living", "living_count"), right("with an age", "life_count"), right("failed", "failed_count"),
		right("shape", "shape"), right("±", "shape_se"), column("scale", "scale"), column("±", "scale_se"), column("a tenth failed by", "tenth_failed_age"), column("half", "half_failed_age"),
	}}
	known := func(v *float64) string {
		if v == nil {
			return ""
		}
		return render.Bare(age(*v))
	}
	for _, g := range r.Groups {
		row := []string{g.Key, string(g.Role), count(g.RollCount), count(g.SpallCount), count(g.CrackCount), count(g.NeckCount), count(g.PlannedCount), count(g.EconomicCount), count(g.LivingCount),
			count(g.LifeCount), count(g.FailedCount), "", "", "", "", "", ""}
		if w := g.Weibull; w != nil {
			row = append(row[:11], render.Number(w.Shape, 3), render.Number(w.ShapeSe, 2), render.Bare(age(w.Scale)), render.Bare(age(w.ScaleSe)), known(w.TenthFailedAge), known(w.HalfFailedAge))
		}
		t.Add(row...)
	}
	return t
}

func stepTable(r oapi.PopulationsReport, age func(float64) string, column func(what, key string) render.Column) *render.Table {
	t := &render.Table{Columns: []render.Column{{Head: string(r.By), Key: "key"}, {Head: "role", Key: "role"}, column("age", "age"), right("at risk", "at_risk_count"), right("failed", "failed_count"),
		right("last longer, %", "survival_pct"), right("±", "standard_error_pct")}}
	for _, g := range r.Groups {
		for _, s := range g.Steps {
			t.Add(g.Key, string(g.Role), render.Bare(age(s.Age)), count(s.AtRiskCount), count(s.FailedCount), pct(s.Survival), fmt.Sprintf("%.1f", 100*s.StandardError))
		}
	}
	return t
}
