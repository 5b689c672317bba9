package wearrate

import (
	"context"
	"fmt"

	"github.com/spf13/cobra"

	"barrelbook/client/cli/kit"
	"barrelbook/client/conn"
	"barrelbook/client/oapi"
	"barrelbook/client/render"
)

// ListOptions choose the rates.
type ListOptions struct {
	Factory *kit.Factory
	kit.Paging

	Mill, Role, Grade, Stand string
	Rolls                    bool
}

// NewCmdList lists the rates.
func NewCmdList(f *kit.Factory, runF func(context.Context, *ListOptions) error) *cobra.Command {
	o := &ListOptions{Factory: f}
	cmd := &cobra.Command{
		Use:     "list",
		Short:   "List wear rates by grade and stand, as the regrinds teach them by now",
		Example: kit.Example("barrelbook wear-rate list", "barrelbook wear-rate list --stand F3 --rolls"),
		Args:    kit.Args(),
		RunE: func(cmd *cobra.Command, _ []string) error {
			if runF != nil {
				return runF(cmd.Context(), o)
			}
			return list(cmd.Context(), o)
		},
	}
	kit.Word(cmd, &o.Role, "role", "", "only rolls of this role", []string{"work", "backup", "intermediate"})
	cmd.Flags().StringVar(&o.Mill, "mill", "", "only of this `MILL`")
	cmd.Flags().StringVar(&o.Grade, "grade", "", "only of this `GRADE`")
	cmd.Flags().StringVar(&o.Stand, "stand", "", "only in this `STAND`")
	cmd.Flags().BoolVar(&o.Rolls, "rolls", false, "with the rate of each roll")
	o.Paging.AddTo(cmd)
	kit.CompleteFlag(f, cmd, "mill", kit.Mills)
	kit.CompleteFlag(f, cmd, "grade", kit.Grades)
	kit.CompleteFlag(f, cmd, "stand", kit.Stands)
	return cmd
}

// line is a rate of a cell, or of one roll of it.
type line struct {
	cell oapi.LearnedRate
	roll *oapi.LearnedRollRate
}

func list(ctx context.Context, o *ListOptions) error {
	c, err := o.Factory.Conn(ctx)
	if err != nil {
		return err
	}
	p := oapi.ListWearRatesParams{Mill: kit.OptText(o.Mill), Role: kit.OptWord[oapi.Role](o.Role), Grade: kit.OptText(o.Grade), Stand: kit.OptText(o.Stand)}
	if o.Rolls {
		p.Rolls = &o.Rolls
	}
	columns := []render.Column{
		{Head: "mill", Key: "mill", Spare: 4}, {Head: "role", Key: "role"}, {Head: "grade", Key: "grade"}, {Head: "stand", Key: "stand"}, {Head: "roll", Key: "roll"},
		{Head: "rate, µm/km", Key: "rate_um_per_km", Right: true}, {Head: "±", Key: "rate_sd", Right: true}, {Head: "rolls apart", Key: "between_roll_sd", Right: true, Spare: 2},
		{Head: "noise, µm", Key: "noise_um", Right: true, Spare: 3}, {Head: "campaigns", Key: "campaign_count", Right: true, Spare: 1}, {Head: "from", Key: "source"},
	}
	return kit.List(o.Factory, &o.Paging, "No regrind has taught a rate yet; the practices' rates hold: barrelbook practice list", columns,
		func(limit *int64, cursor *string) (kit.Page[line], error) {
			p.Limit, p.Cursor = limit, cursor
			a, err := conn.Expect[oapi.WearRatePage](c.API.ListWearRates(ctx, &p))
			var lines []line
			for _, cell := range a.Value.Items {
				lines = append(lines, line{cell: cell})
				for _, roll := range render.Opt(cell.Rolls) {
					lines = append(lines, line{cell: cell, roll: &roll})
				}
			}
			return kit.Page[line]{Items: lines, Next: a.Value.Next, Raw: a.Raw}, err
		},
		func(l line) []string {
			c := l.cell
			row := []string{c.Mill, string(c.Role), c.Grade, c.Stand, "", render.Number(c.RateUmPerKm, 4), render.Number(c.RateSd, 2), render.Number(c.BetweenRollSd, 2),
				render.Number(c.NoiseUm, 3), fmt.Sprint(c.CampaignCount), source(c)}
			if r := l.roll; r != nil {
				row[4], row[5], row[6], row[7], row[8], row[9], row[10] = r.Roll, render.Number(r.RateUmPerKm, 4), render.Number(r.RateSd, 2), "", "", fmt.Sprint(r.CampaignCount), "roll"
			}
			return row
		})
}

// source is where a rate comes from, with what is the matter at the stand.
func source(c oapi.LearnedRate) string {
	if c.Trouble != nil {
		return c.Source + "; " + c.Trouble.Says
	}
	return c.Source
}
