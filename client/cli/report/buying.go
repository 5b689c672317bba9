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

// BuyingOptions say what the mill is to roll and how far to look.
type BuyingOptions struct {
	Asked
	Mill    string
	Months  kit.OptNumber
	Tonnage kit.OptNumber
	Needed  kit.OptCount
}

// NewCmdBuying reports what to buy.
func NewCmdBuying(f *kit.Factory, runF func(context.Context, *BuyingOptions) error) *cobra.Command {
	o := &BuyingOptions{Asked: Asked{Factory: f}}
	cmd := command(&cobra.Command{
		Use:     "buying",
		Short:   "Which rolls to order by when",
		Long:    "Which rolls to order by when, from the scrap dates that the regrinds make likely,\nthe delivery times of the practices, and the tonnage to come. A day is named early\nenough that the roll comes too late with a chance of one in ten.",
		Example: kit.Example("barrelbook report buying", "barrelbook report buying --months 24 --tonnage 250000", "barrelbook report buying --mill hot --csv"),
	}, &o.Asked, o, buying, runF)
	cmd.Flags().StringVar(&o.Mill, "mill", "", "only of this `MILL`")
	cmd.Flags().Var(&o.Months, "months", "orders due within so many months; 12 when left out")
	cmd.Flags().Var(&o.Tonnage, "tonnage", "tonnes a month the mill is to roll; as much as lately when left out")
	cmd.Flags().Var(&o.Needed, "needed", "rolls each group must keep; as many as it has when left out")
	kit.CompleteFlag(f, cmd, "mill", kit.Mills)
	return cmd
}

func buying(ctx context.Context, o *BuyingOptions) error {
	c, err := o.Factory.Conn(ctx)
	if err != nil {
		return err
	}
	a, err := conn.Expect[oapi.BuyingReport](c.API.ReportBuying(ctx, &oapi.ReportBuyingParams{Mill: kit.OptText(o.Mill), Months: o.Months.Value, TonnagePerMonthT: o.Tonnage.Value, NeededRolls: o.Needed.Value}))
	if err != nil {
		return kit.Failure{Flag: map[string]string{"mill": "--mill", "months": "--months", "tonnage_per_month_t": "--tonnage", "needed_rolls": "--needed"}, Next: []string{kit.Path("mill list")}}.Explain(err)
	}
	r := a.Value
	orders := &render.Table{Columns: []render.Column{{Head: "order by", Key: "order_by"}, {Head: "", Key: "late"}, {Head: "for", Key: "group"}, {Head: "replaces", Key: "replaces"},
		{Head: "grade", Key: "grade", Spare: 1}, {Head: "needed from", Key: "needed_from", Spare: 2}, {Head: "expected", Key: "expected", Spare: 3}, right("price", "price")}}
	for _, order := range r.Orders {
		late, price := "", ""
		if order.Late {
			late = "late"
		}
		if order.PriceMinor != nil {
			price = fmt.Sprintf("%.2f", float64(*order.PriceMinor)/100)
		}
		orders.Add(day(order.OrderBy), late, order.Group, render.Opt(order.Replaces), render.Opt(order.Grade), day(order.NeededFrom), day(order.Expected), price)
	}
	return show(&o.Asked, a, orders, func() error {
		t := o.Factory.Term
		if len(orders.Rows) == 0 {
			t.Say("Nothing is to be ordered in that time.")
		}
		if err := orders.Write(t); err != nil {
			return err
		}
		groups := &render.Table{Columns: []render.Column{{Head: "group", Key: "group"}, right("rolls", "roll_count"), right("needed", "needed_count"), right("missing", "short_count"), right("on order", "due_count"),
			right("months of stock", "cover_months"), right("delivery, days", "delivery_days"), right("to order", "order_count"), right("later", "later_count")}}
		for _, g := range r.Groups {
			groups.Add(g.Group, count(g.RollCount), count(g.NeededCount), count(g.ShortCount), count(g.DueCount), months(g.CoverMonths, g.MoreThanFiveYears, known(g.CoverMonths, 3, 1)), render.Number(g.DeliveryDays, 4), count(g.OrderCount), count(g.LaterCount))
		}
		t.Print("")
		if err := groups.Write(t); err != nil {
			return err
		}
		render.Bullets(t, "\nWithout a scrap date:", r.Unforecast)
		render.Bullets(t, "\nNotes:", r.Notes)
		return nil
	})
}
