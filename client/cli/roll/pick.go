package roll

import (
	"cmp"
	"context"
	"encoding/json"
	"slices"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"barrelbook/client/cli/kit"
	"barrelbook/client/conn"
	"barrelbook/client/oapi"
	"barrelbook/client/render"
)

// pick chooses and orders rolls by what their answers say. Every page is read for
// it: a list of the first fifty rolls in another order would mislead.
type pick struct {
	Owed, Warm, Reverse bool
	Find, Sort          string
}

func (p *pick) addTo(cmd *cobra.Command) {
	cmd.Flags().BoolVar(&p.Owed, "owed", false, "only rolls that owe a test now")
	cmd.Flags().BoolVar(&p.Warm, "warm", false, "only rolls that are warm by the practice, with until when")
	cmd.Flags().StringVar(&p.Find, "find", "", "only rolls with this `TEXT` in number, grade, supplier, place or hold")
	kit.Word(cmd, &p.Sort, "sort", "", "order by", []string{"stock", "diameter", "rolled", "grade", "cool"})
	cmd.Flags().BoolVar(&p.Reverse, "reverse", false, "the other way round")
}

func (p *pick) asked() bool { return *p != pick{} }

func (p *pick) takes(r oapi.Roll) bool {
	s := r.State
	if r.State.Stage == oapi.StageScrapped && (p.Owed || p.Warm) || p.Owed && Due(s) == "" || p.Warm && s.CoolAt == nil {
		return false
	}
	text := strings.ToLower(strings.Join([]string{r.Number, r.Grade, render.Opt(r.Supplier), place(s), render.Opt(s.Held)}, " "))
	return strings.Contains(text, strings.ToLower(p.Find))
}

func (p *pick) compare(a, b oapi.Roll) int {
	order := 0
	switch p.Sort {
	case "stock":
		order = cmp.Compare(a.State.StockLeftMm, b.State.StockLeftMm)
	case "diameter":
		order = cmp.Compare(a.State.DiameterMm, b.State.DiameterMm)
	case "rolled":
		order = cmp.Compare(a.Totals.RolledKm, b.Totals.RolledKm)
	case "grade":
		order = cmp.Compare(a.Grade, b.Grade)
	case "cool":
		order = coolAt(a).Compare(coolAt(b))
	}
	order = cmp.Or(order, cmp.Compare(a.Number, b.Number))
	if p.Reverse {
		return -order
	}
	return order
}

func coolAt(r oapi.Roll) time.Time { return render.Opt(r.State.CoolAt) }

func (o *ListOptions) listPicked(ctx context.Context, c *conn.Conn, p oapi.ListRollsParams, columns []render.Column, u render.Units) error {
	rolls, err := Every(ctx, c, p)
	if err != nil {
		return err
	}
	rolls = slices.DeleteFunc(rolls, func(r oapi.Roll) bool { return !o.takes(r) })
	slices.SortFunc(rolls, o.compare)
	raw, err := json.Marshal(oapi.RollPage{Items: rolls})
	if err != nil {
		return err
	}
	return kit.List(o.Factory, &kit.Paging{CSV: o.CSV}, "No roll is like that.", columns,
		func(*int64, *string) (kit.Page[oapi.Roll], error) {
			return kit.Page[oapi.Roll]{Items: rolls, Raw: raw}, nil
		}, row(u))
}

// Every gives all rolls that are asked for, page by page.
func Every(ctx context.Context, c *conn.Conn, p oapi.ListRollsParams) (rolls []oapi.Roll, err error) {
	err = kit.Pages(&kit.Paging{All: true}, func(limit *int64, cursor *string) (kit.Page[oapi.Roll], error) {
		p.Limit, p.Cursor = limit, cursor
		a, err := conn.Expect[oapi.RollPage](c.API.ListRolls(ctx, &p))
		return kit.Page[oapi.Roll]{Items: a.Value.Items, Next: a.Value.Next}, err
	}, func(page kit.Page[oapi.Roll]) error { rolls = append(rolls, page.Items...); return nil })
	return rolls, err
}
