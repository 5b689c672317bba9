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

// ConsumptionOptions choose the rows and the period.
type ConsumptionOptions struct {
	Asked
	By, Mill, From, Until string
}

// NewCmdConsumption reports what rolls cost.
func NewCmdConsumption(f *kit.Factory, runF func(context.Context, *ConsumptionOptions) error) *cobra.Command {
	o := &ConsumptionOptions{Asked: Asked{Factory: f}}
	cmd := command(&cobra.Command{
		Use:     "consumption",
		Short:   "What was taken off the rolls and lost, per tonne of product, in length, mass and money",
		Example: kit.Example("barrelbook report consumption --by stand", "barrelbook report consumption --by month --from 2026-01-01 --csv"),
	}, &o.Asked, o, used, runF)
	kit.Word(cmd, &o.By, "by", "grade", "one row for each", []string{"grade", "supplier", "stand", "purpose", "month", "role", "mill"})
	cmd.Flags().StringVar(&o.Mill, "mill", "", "only of this `MILL`")
	cmd.Flags().StringVar(&o.From, "from", "", "regrinds from this `TIME` on")
	cmd.Flags().StringVar(&o.Until, "until", "", "regrinds before this `TIME`")
	kit.CompleteFlag(f, cmd, "mill", kit.Mills)
	return cmd
}

func used(ctx context.Context, o *ConsumptionOptions) error {
	from, err := kit.OptTime(o.Factory, "--from", o.From)
	if err != nil {
		return err
	}
	until, err := kit.OptTime(o.Factory, "--until", o.Until)
	if err != nil {
		return err
	}
	u, err := o.Factory.Units()
	if err != nil {
		return err
	}
	c, err := o.Factory.Conn(ctx)
	if err != nil {
		return err
	}
	by := oapi.ConsumptionBy(o.By)
	a, err := conn.Expect[oapi.ConsumptionReport](c.API.ReportConsumption(ctx, &oapi.ReportConsumptionParams{By: &by, Mill: kit.OptText(o.Mill), From: from, Until: until}))
	if err != nil {
		return kit.Failure{Flag: map[string]string{"from": "--from", "until": "--until", "mill": "--mill"}}.Explain(err)
	}
	t := &render.Table{Columns: []render.Column{
		{Head: o.By, Key: "key"}, {Head: "role", Key: "role"}, right("regrinds", "regrind_count").Spared(2), u.LengthColumn("removed", "removed").Spared(3), right("µm/kt", "um_per_kt").Spared(2), right("ground, kg/t", "kg_per_t"),
		right("used up, kg/t", "used_up_kg_per_t").Spared(1), right("whole, kg/t", "whole_kg_per_t").Spared(1), right("cost/t", "cost_per_t"), right("used", "used").Spared(1), right("lost", "lost_money").Spared(1), right("credited", "credited").Spared(2),
		right("incidents, %", "incident_pct").Spared(2), u.MassColumn("product", "product").Spared(3), u.MassColumn("rolled", "tonnage").Spared(4), right("cost", "cost").Spared(3), u.LengthColumn("lost", "lost").Spared(4),
	}}
	for _, r := range append(a.Value.Rows, a.Value.Totals...) {
		lost := ""
		if r.LostUm > 0 {
			lost = render.Bare(u.Length(float64(r.LostUm) / 1000))
		}
		t.Add(r.Key, string(r.Role), count(r.RegrindCount), render.Bare(u.Length(float64(r.RemovedUm)/1000)), known(r.UmPerKt, 4, 1), known(r.KgPerT, 3, 1), known(r.UsedUpKgPerT, 3, 1), known(r.WholeKgPerT, 3, 1), known(r.CostPerTMinor, 4, 0.01),
			money(r.UsedMinor), money(r.LostMinor), money(r.CreditedMinor), fmt.Sprintf("%.1f", 100*r.IncidentShare), render.Bare(u.Mass(r.ProductT)), render.Bare(u.Mass(r.TonnageT)), money(r.CostMinor), lost)
	}
	return show(&o.Asked, a, t, func() error {
		if len(t.Rows) == 0 {
			o.Factory.Term.Say("No roll was ground in that period.")
			return nil
		}
		if err := t.Write(o.Factory.Term); err != nil {
			return err
		}
		if b := a.Value.Balance; b.PriceMinor > 0 {
			o.Factory.Term.Print("\nThe price of all %s, %s: used up before the books %s, used %s, lost %s, credited %s, left on them %s.",
				render.Count(b.RollCount-b.UnpricedCount, "roll"), money(b.PriceMinor), money(b.BeforeMinor), money(b.UsedMinor), money(b.LostMinor), money(b.CreditedMinor), money(b.LeftMinor))
		}
		render.Bullets(o.Factory.Term, "\nNotes:", a.Value.Notes)
		return nil
	})
}

// money prints minor units as the unit they are the hundredth of.
func money(minor int64) string { return fmt.Sprintf("%.2f", float64(minor)/100) }

// known prints a number that may be left out, times a factor.
func known(v *float64, digits int, factor float64) string {
	if v == nil {
		return ""
	}
	return render.Number(*v*factor, digits)
}
