package report

import (
	"context"
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"barrelbook/client/cli/kit"
	"barrelbook/client/conn"
	"barrelbook/client/oapi"
	"barrelbook/client/render"
)

// StockOptions choose the mill.
type StockOptions struct {
	Asked
	Mill string
}

// NewCmdStock reports the stock.
func NewCmdStock(f *kit.Factory, runF func(context.Context, *StockOptions) error) *cobra.Command {
	o := &StockOptions{Asked: Asked{Factory: f}}
	cmd := command(&cobra.Command{
		Use:     "stock",
		Short:   "The rolls there are, what is left on them and how long it lasts",
		Example: kit.Example("barrelbook report stock", "barrelbook report stock --mill hot --csv"),
	}, &o.Asked, o, stock, runF)
	cmd.Flags().StringVar(&o.Mill, "mill", "", "only of this `MILL`")
	kit.CompleteFlag(f, cmd, "mill", kit.Mills)
	return cmd
}

func stock(ctx context.Context, o *StockOptions) error {
	u, err := o.Factory.Units()
	if err != nil {
		return err
	}
	c, err := o.Factory.Conn(ctx)
	if err != nil {
		return err
	}
	a, err := conn.Expect[oapi.StockReport](c.API.ReportStock(ctx, &oapi.ReportStockParams{Mill: kit.OptText(o.Mill)}))
	if err != nil {
		return kit.Failure{Flag: map[string]string{"mill": "--mill"}, Next: []string{kit.Path("mill list")}}.Explain(err)
	}
	t := &render.Table{Columns: []render.Column{
		{Head: "mill", Key: "mill", Spare: 3}, {Head: "role", Key: "role"}, {Head: "stands", Key: "stands"}, right("rolls", "roll_count"), right("new", "new_count").Spared(2), right("worn", "worn_count").Spared(1),
		right("ground", "ground_count").Spared(1), right("paired", "paired_count").Spared(2), right("mounted", "mounted_count").Spared(1), right("held", "held_count").Spared(1), u.LengthColumn("stock left", "stock_left"), right("months", "cover_months"),
	}}
	for _, g := range a.Value.Groups {
		t.Add(g.Mill, string(g.Role), strings.Join(g.Stands, " "), count(g.RollCount), count(g.NewCount), count(g.WornCount), count(g.GroundCount), count(g.PairedCount), count(g.MountedCount),
			count(g.HeldCount), render.Bare(u.Length(g.StockLeftMm)), months(g.CoverMonths, g.MoreThanFiveYears, fmt.Sprintf("%.1f", render.Opt(g.CoverMonths))))
	}
	return show(&o.Asked, a, t, func() error {
		if len(t.Rows) == 0 {
			o.Factory.Term.Say("There are no rolls: barrelbook roll receive")
		}
		if err := t.Write(o.Factory.Term); err != nil {
			return err
		}
		render.Bullets(o.Factory.Term, "\nNotes:", a.Value.Notes)
		return nil
	})
}

func right(head, key string) render.Column { return render.Column{Head: head, Key: key, Right: true} }

func count(n int64) string { return fmt.Sprint(n) }

// months is how long a stock lasts, as written, as far as that can be told.
func months(of *float64, beyond *bool, written string) string {
	switch {
	case render.Opt(beyond):
		return "over 60"
	case of != nil:
		return written
	}
	return ""
}
