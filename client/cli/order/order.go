// Package order holds the commands on rolls that were ordered and have not all come.
package order

import (
	"context"
	"fmt"
	"strconv"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"barrelbook/client/cli/kit"
	"barrelbook/client/conn"
	"barrelbook/client/oapi"
	"barrelbook/client/render"
)

// NewCmd gathers the verbs.
func NewCmd(f *kit.Factory) *cobra.Command {
	return kit.Noun("order", "Keep the rolls on order: place, see what is due, note what came",
		NewCmdPlace(f, nil), NewCmdList(f, nil), NewCmdShow(f, nil), NewCmdArrive(f, nil), NewCmdMove(f, nil), NewCmdClose(f, nil))
}

var flags = map[string]string{"name": "NAME", "mill": "--mill", "role": "--role", "stands": "--stand", "grade": "--grade", "supplier": "--supplier", "roll_count": "--rolls",
	"new_diameter_mm": "--new", "scrap_diameter_mm": "--scrap", "mass_kg": "--mass-kg", "price": "--price", "ordered_at": "--ordered", "due_at": "--due",
	"warranty/tonnage_t": "--warranty-t", "warranty/rolled_km": "--warranty-km", "warranty/months": "--warranty-months", "rolls": "ROLL", "reason": "--reason", "at": "--at", "note": "--note"}

// shown prints an order, and says what was done.
func shown(f *kit.Factory, a conn.Answer[oapi.Order], r *kit.Recording, done string) error {
	u, err := f.Units()
	if err != nil {
		return err
	}
	if err := kit.Show(f, a, func(o oapi.Order) error { Print(f, u, o); return nil }); err != nil {
		return err
	}
	if r != nil {
		r.Noted(f, "%s", done)
	}
	return nil
}

// Print shows an order to people. What is still to come is said first.
func Print(f *kit.Factory, u render.Units, o oapi.Order) {
	t := f.Term
	t.Print("%s: %s of %s to come, due %s", t.Bold("Order "+o.Name), render.Count(o.ToComeCount, string(o.Role)+" roll"), strconv.FormatInt(o.RollCount, 10), due(o))
	line := func(name, text string) {
		if text != "" {
			t.Print("  %-11s %s", name, text)
		}
	}
	line("for", strings.Join(append([]string{o.Mill}, render.Opt(o.Stands)...), " "))
	line("grade", render.Opt(o.Grade))
	line("supplier", render.Opt(o.Supplier))
	if o.NewDiameterMm != nil {
		line("diameter", u.Length(*o.NewDiameterMm)+" new, to "+u.Length(render.Opt(o.ScrapDiameterMm)))
	}
	line("price", price(o))
	line("ordered", o.OrderedAt.Format(time.DateOnly))
	line("warranty", warranty(o.Warranty))
	line("came", strings.Join(render.Opt(o.Arrived), ", "))
	if o.ClosedAt != nil {
		line("closed", o.ClosedAt.Format(time.DateOnly)+": "+render.Opt(o.ClosedWhy))
	}
	line("note", render.Opt(o.Note))
}

func due(o oapi.Order) string {
	text := o.DueAt.Format(time.DateOnly)
	if o.Late {
		text += ", late"
	}
	return text
}

func price(o oapi.Order) string {
	if o.Price == nil {
		return ""
	}
	parts := []string{fmt.Sprintf("%.2f", float64(*o.Price)/100) + " a roll"}
	if o.PricePerKg != nil {
		parts = append(parts, fmt.Sprintf("%.2f a kg", *o.PricePerKg/100))
	}
	if o.PricePerMm != nil {
		parts = append(parts, fmt.Sprintf("%.2f a mm that can be used", *o.PricePerMm/100))
	}
	return strings.Join(parts, ", ")
}

func warranty(w *oapi.Warranty) string {
	if w == nil {
		return ""
	}
	var parts []string
	for _, p := range []struct {
		v    *float64
		unit string
	}{{w.TonnageT, "t"}, {w.RolledKm, "km"}, {w.Months, "months"}} {
		if p.v != nil {
			parts = append(parts, render.Number(*p.v, 9)+" "+p.unit)
		}
	}
	return strings.Join(parts, ", ")
}

// names lists the orders of which rolls are to come.
func names(ctx context.Context, c *conn.Conn) ([]string, error) {
	most, open := int64(1000), true
	a, err := conn.Expect[oapi.OrderPage](c.API.ListOrders(ctx, &oapi.ListOrdersParams{Limit: &most, Open: &open}))
	var list []string
	for _, o := range a.Value.Items {
		list = append(list, o.Name)
	}
	return list, err
}

func failed(what string, err error) error {
	return kit.Failure{What: what, Flag: flags, Next: []string{kit.Path("order list")}}.Explain(err)
}
