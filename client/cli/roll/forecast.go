package roll

import (
	"context"
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"barrelbook/client/cli/kit"
	"barrelbook/client/conn"
	"barrelbook/client/oapi"
	"barrelbook/client/render"
	"barrelbook/client/term"
)

// ForecastOptions choose the roll.
type ForecastOptions struct {
	Factory *kit.Factory
	Number  string
	CSV     bool
}

// NewCmdForecast says what is ahead of a roll.
func NewCmdForecast(f *kit.Factory, runF func(context.Context, *ForecastOptions) error) *cobra.Command {
	o := &ForecastOptions{Factory: f}
	cmd := &cobra.Command{
		Use:               "forecast NUMBER",
		Short:             "Say when a roll must be changed, what its stock is worth and when it is scrapped",
		Long:              "Say when a roll must be changed, what its stock is worth and when it is scrapped,\nfrom the wear rate and the habits that the regrinds teach. P10 comes before with a\nchance of one in ten, P90 after. Forecasts are kept and scored: barrelbook report scores",
		Example:           kit.Example("barrelbook roll forecast R1234", "barrelbook roll forecast R1234 --csv"),
		Args:              kit.Args("NUMBER"),
		ValidArgsFunction: kit.Complete(f, kit.Rolls),
		RunE: func(cmd *cobra.Command, args []string) error {
			o.Number = args[0]
			if runF != nil {
				return runF(cmd.Context(), o)
			}
			return showForecast(cmd.Context(), o)
		},
	}
	cmd.Flags().BoolVar(&o.CSV, "csv", false, "comma-separated, for a spreadsheet")
	return cmd
}

func showForecast(ctx context.Context, o *ForecastOptions) error {
	u, err := o.Factory.Units()
	if err != nil {
		return err
	}
	c, err := o.Factory.Conn(ctx)
	if err != nil {
		return err
	}
	a, err := conn.Expect[oapi.RollForecast](c.API.ForecastRoll(ctx, o.Number))
	if err != nil {
		return kit.Failure{Next: []string{kit.Path("roll list")}}.Explain(err)
	}
	return kit.Show(o.Factory, a, func(f oapi.RollForecast) error {
		if o.CSV {
			return forecastTable(u, f).CSV(o.Factory.Term.Data())
		}
		return printForecast(o.Factory.Term, u, f)
	})
}

// forecastTable is the quantities ahead, one a row.
func forecastTable(u render.Units, f oapi.RollForecast) *render.Table {
	t := &render.Table{Columns: []render.Column{{Head: "ahead", Key: "quantity"}, {Head: "P10", Key: "p10", Right: true}, {Head: "P50", Key: "p50", Right: true}, {Head: "P90", Key: "p90", Right: true}, {Head: "unit", Key: "unit"}}}
	amounts := func(name string, q *oapi.ForecastQuantiles, show func(float64) string) {
		if q != nil {
			bare := func(v float64) string { return render.Bare(show(v)) }
			t.Add(name, bare(q.P10), bare(q.P50), bare(q.P90), strings.TrimSpace(strings.TrimPrefix(show(q.P50), bare(q.P50))))
		}
	}
	moments := func(name string, d *oapi.ForecastDates) {
		if d != nil {
			t.Add(name, render.Time(d.P10), render.Time(d.P50), render.Time(d.P90), "")
		}
	}
	whole := func(v float64) string { return fmt.Sprintf("%.0f", v) }
	amounts("next change, tonnage", f.NextChange.TonnageT, u.Mass)
	amounts("next change, length", f.NextChange.RolledKm, u.Rolled)
	moments("next change", f.NextChange.At)
	amounts("regrinds left", &f.Remaining.Regrinds, whole)
	amounts("campaigns left", &f.Remaining.Campaigns, whole)
	amounts("tonnage left", f.Remaining.TonnageT, u.Mass)
	moments("scrapped", f.Remaining.ScrapAt)
	if p := f.MonthAgo; p != nil {
		amounts("a month ago: campaigns left", &p.Campaigns, whole)
		moments("a month ago: scrapped", p.ScrapAt)
	}
	return t
}

func printForecast(t *term.Streams, u render.Units, f oapi.RollForecast) error {
	t.Print("%s", t.Bold("Roll "+f.Roll+": what is ahead"))
	facts := render.Facts{}
	facts.Add("stock left", u.Length(f.StockLeftMm)+" above "+u.Length(f.ScrapMm)+", "+f.ScrapLimit)
	facts.Add("stand", render.Opt(f.Stand))
	if w := f.WearRate; w != nil {
		facts.Add("wear rate", fmt.Sprintf("%s µm/km at 10 kN/mm, %s", render.Number(w.RateUmPerKm, 3), w.Source))
	}
	facts.Add("habits from", f.Habit)
	facts.Add("a cycle takes", fmt.Sprintf("%s wear, %s stock, %s for incidents on average", u.Small(f.Remaining.WearUmPerCycle), u.Small(f.Remaining.StockUmPerCycle), u.Small(f.Remaining.IncidentUmPerCycle)))
	if d := f.Remaining.DaysPerCycle; d != nil {
		facts.Add("rhythm", fmt.Sprintf("%s days from grind to grind, %s campaigns a month", render.Number(*d, 3), render.Number(render.Opt(f.Remaining.CampaignsPerMonth), 3)))
	}
	if from, until := f.Remaining.RhythmFrom, f.Remaining.RhythmUntil; from != nil && until != nil {
		facts.Add("rhythm from", fmt.Sprintf("%d cycles that ended %s to %s", render.Opt(f.Remaining.RhythmCycleCount), from.UTC().Format("2006-01-02"), until.UTC().Format("2006-01-02")))
	}
	if render.Opt(f.Remaining.MoreThanFiveYears) {
		facts.Add("scrapped in", "more than 5 years")
	}
	if by := f.NextChange.LimitedBy; by != nil {
		facts.Add("next change by", *by)
	}
	facts.Write(t)
	t.Print("")
	if err := forecastTable(u, f).Write(t); err != nil {
		return err
	}
	if f.OrderBy != nil {
		t.Print("\nOrder its successor by %s: P10 less %s days of delivery (%s).", f.OrderBy.UTC().Format("2006-01-02"), render.Number(f.DeliveryDays, 4), f.DeliverySource)
	}
	render.Bullets(t, "\nNotes:", f.Notes)
	render.Bullets(t, "\nCautions:", f.Cautions)
	return nil
}
