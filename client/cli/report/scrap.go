package report

import (
	"context"
	"time"

	"github.com/spf13/cobra"

	"barrelbook/client/cli/kit"
	"barrelbook/client/conn"
	"barrelbook/client/oapi"
	"barrelbook/client/render"
)

// ScrapOptions choose the rolls.
type ScrapOptions struct {
	Asked
	Mill, Stand, Grade, Sort string
	Limit                    int64
}

// NewCmdScrap reports the scrap dates of all rolls.
func NewCmdScrap(f *kit.Factory, runF func(context.Context, *ScrapOptions) error) *cobra.Command {
	o := &ScrapOptions{Asked: Asked{Factory: f}}
	cmd := command(&cobra.Command{
		Use:     "scrap",
		Short:   "When each roll reaches its scrap diameter, and when to order another",
		Example: kit.Example("barrelbook report scrap --limit 20", "barrelbook report scrap --mill hot --sort order_by --csv"),
	}, &o.Asked, o, scrap, runF)
	cmd.Flags().StringVar(&o.Mill, "mill", "", "only of this `MILL`")
	cmd.Flags().StringVar(&o.Stand, "stand", "", "only rolls in this `STAND` now")
	cmd.Flags().StringVar(&o.Grade, "grade", "", "only of this `GRADE`")
	kit.Word(cmd, &o.Sort, "sort", "scrap_at", "what comes first", []string{"scrap_at", "order_by", "roll"})
	cmd.Flags().Int64Var(&o.Limit, "limit", 0, "only the first so many")
	kit.CompleteFlag(f, cmd, "mill", kit.Mills)
	kit.CompleteFlag(f, cmd, "stand", kit.Stands)
	return cmd
}

func scrap(ctx context.Context, o *ScrapOptions) error {
	u, err := o.Factory.Units()
	if err != nil {
		return err
	}
	c, err := o.Factory.Conn(ctx)
	if err != nil {
		return err
	}
	sort := oapi.ListForecastsParamsSort(o.Sort)
	p := &oapi.ListForecastsParams{Mill: kit.OptText(o.Mill), Stand: kit.OptText(o.Stand), Grade: kit.OptText(o.Grade), Sort: &sort}
	if o.Limit > 0 {
		p.Limit = &o.Limit
	}
	a, err := conn.Expect[oapi.ForecastList](c.API.ListForecasts(ctx, p))
	if err != nil {
		return kit.Failure{Flag: map[string]string{"mill": "--mill", "stand": "--stand", "grade": "--grade", "limit": "--limit"}, Next: []string{kit.Path("mill list")}}.Explain(err)
	}
	t := &render.Table{Columns: []render.Column{{Head: "roll", Key: "roll"}, {Head: "stage", Key: "stage", Spare: 2}, {Head: "stand", Key: "stand", Spare: 1}, u.LengthColumn("stock left", "stock_left"),
		{Head: "order by", Key: "order_by"}, {Head: "scrapped, middle", Key: "scrap_at_p50"}, {Head: "one in ten before", Key: "scrap_at_p10", Spare: 1}}}
	without := 0
	for _, f := range a.Value.Items {
		if f.ScrapAtP50 == nil {
			without++
		}
		t.Add(f.Roll, string(f.Stage), render.Opt(f.Stand), render.Bare(u.Length(f.StockLeftMm)), optDay(f.OrderBy), optDay(f.ScrapAtP50), optDay(f.ScrapAtP10))
	}
	return show(&o.Asked, a, t, func() error {
		if len(t.Rows) == 0 {
			o.Factory.Term.Say("There are no rolls: barrelbook roll receive")
		}
		if err := t.Write(o.Factory.Term); err != nil {
			return err
		}
		if without > 0 {
			o.Factory.Term.Say("%d of them have no date; --json says why.", without)
		}
		return nil
	})
}

func optDay(t *time.Time) string {
	if t == nil {
		return ""
	}
	return day(*t)
}
