package order

import (
	"context"

	"github.com/spf13/cobra"

	"barrelbook/client/cli/kit"
	"barrelbook/client/conn"
	"barrelbook/client/oapi"
)

// PlaceOptions is an order as typed.
type PlaceOptions struct {
	Factory *kit.Factory
	kit.Recording

	Name, Mill, Role, Grade, Supplier, Ordered, Due, New, Scrap, Note string
	Stands                                                            []string
	Rolls                                                             int64
	Price                                                             kit.OptCount
	MassKG, WarrantyT, WarrantyKM, WarrantyMonths                     kit.OptNumber
}

// NewCmdPlace keeps an order.
func NewCmdPlace(f *kit.Factory, runF func(context.Context, *PlaceOptions) error) *cobra.Command {
	o := &PlaceOptions{Factory: f}
	cmd := &cobra.Command{
		Use:   "place [NAME]",
		Short: "Note rolls that were ordered; buying takes them off what is missing",
		Example: kit.Example("barrelbook order place PO-4711 --mill HSM --role work --stand F4 --stand F5 --grade IC-2 --rolls 6 \\",
			"    --due 2026-11-02 --supplier \"Foundry North\" --price 2100000 --mass-kg 7200 --new 690 --scrap 622 --warranty-t 120000"),
		Args: kit.Args("[NAME]"),
		RunE: func(cmd *cobra.Command, args []string) error {
			o.Name = kit.Arg(args, 0)
			if runF != nil {
				return runF(cmd.Context(), o)
			}
			return place(cmd.Context(), o)
		},
	}
	fl := cmd.Flags()
	fl.StringVar(&o.Mill, "mill", "", "the `MILL` they are for")
	kit.Word(cmd, &o.Role, "role", "work", "what they are for", []string{"work", "backup", "intermediate"})
	fl.StringSliceVar(&o.Stands, "stand", nil, "a `STAND` they are for, again for each; all of the mill when left out")
	fl.StringVar(&o.Grade, "grade", "", "their `GRADE`")
	fl.StringVar(&o.Supplier, "supplier", "", "who makes them")
	fl.Int64Var(&o.Rolls, "rolls", 0, "how many")
	fl.StringVar(&o.Due, "due", "", "when they are due (`TIME`)")
	fl.StringVar(&o.Ordered, "ordered", "", "when they were ordered (`TIME`); now when left out")
	fl.Var(&o.Price, "price", "price of one roll, in the smallest currency unit")
	fl.Var(&o.MassKG, "mass-kg", "mass of one roll, kg")
	fl.StringVar(&o.New, "new", "", "new diameter (`LENGTH`)")
	fl.StringVar(&o.Scrap, "scrap", "", "diameter where the usable shell ends (`LENGTH`)")
	fl.Var(&o.WarrantyT, "warranty-t", "tonnes the supplier stands for")
	fl.Var(&o.WarrantyKM, "warranty-km", "kilometres the supplier stands for")
	fl.Var(&o.WarrantyMonths, "warranty-months", "months from the receipt the supplier stands for")
	fl.StringVar(&o.Note, "note", "", "a remark")
	o.Recording.AddTo(cmd, false)
	kit.Require(cmd, "mill", "rolls", "due")
	kit.CompleteFlag(f, cmd, "mill", kit.Mills)
	kit.CompleteFlag(f, cmd, "grade", kit.Grades)
	kit.CompleteFlag(f, cmd, "stand", kit.Stands)
	return cmd
}

func (o *PlaceOptions) input() (in oapi.OrderInput, err error) {
	e, err := kit.NewEntry(o.Factory)
	if err != nil {
		return in, err
	}
	in = oapi.OrderInput{Name: kit.OptText(o.Name), Mill: o.Mill, Role: oapi.Role(o.Role), Stands: kit.OptList(o.Stands), Grade: kit.OptText(o.Grade), Supplier: kit.OptText(o.Supplier), RollCount: o.Rolls,
		NewDiameterMm: e.OptLength("--new", o.New), ScrapDiameterMm: e.OptLength("--scrap", o.Scrap), MassKg: o.MassKG.Value, Price: o.Price.Value, Note: kit.OptText(o.Note)}
	if w := (oapi.Warranty{TonnageT: o.WarrantyT.Value, RolledKm: o.WarrantyKM.Value, Months: o.WarrantyMonths.Value}); w != (oapi.Warranty{}) {
		in.Warranty = &w
	}
	if err := e.Err(); err != nil {
		return in, err
	}
	if in.DueAt, err = kit.ParseTime(o.Factory, "--due", o.Due); err != nil {
		return in, err
	}
	in.OrderedAt, err = kit.OptTime(o.Factory, "--ordered", o.Ordered)
	return in, err
}

func place(ctx context.Context, o *PlaceOptions) error {
	const what = "the order was not kept"
	in, err := o.input()
	if err != nil {
		return kit.Failure{What: what}.Explain(err)
	}
	c, err := o.Factory.Conn(ctx)
	if err != nil {
		return err
	}
	dry, key := o.Params()
	a, err := conn.Expect[oapi.Order](c.API.PlaceOrder(ctx, &oapi.PlaceOrderParams{DryRun: dry, IdempotencyKey: key}, in))
	if err != nil {
		return failed(what, err)
	}
	return shown(o.Factory, a, &o.Recording, "The order is kept; note what comes: "+kit.Path("order arrive %s ROLL", a.Value.Name))
}
