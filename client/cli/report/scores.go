package report

import (
	"context"
	"fmt"
	"time"

	"github.com/spf13/cobra"

	"barrelbook/client/cli/kit"
	"barrelbook/client/conn"
	"barrelbook/client/oapi"
	"barrelbook/client/render"
)

// ScoresOptions narrow the forecasts.
type ScoresOptions struct {
	Asked
	Grade, Stand, From string
}

// NewCmdScores reports how forecasts did.
func NewCmdScores(f *kit.Factory, runF func(context.Context, *ScoresOptions) error) *cobra.Command {
	o := &ScoresOptions{Asked: Asked{Factory: f}}
	cmd := command(&cobra.Command{
		Use:     "scores",
		Short:   "How forecasts and finish answers did against what came",
		Example: kit.Example("barrelbook report scores", "barrelbook report scores --stand F3 --from 2026-01-01"),
	}, &o.Asked, o, scores, runF)
	cmd.Flags().StringVar(&o.Grade, "grade", "", "only of rolls of this `GRADE`")
	cmd.Flags().StringVar(&o.Stand, "stand", "", "only of this `STAND`")
	cmd.Flags().StringVar(&o.From, "from", "", "outcomes from this `TIME` on")
	kit.CompleteFlag(f, cmd, "grade", kit.Grades)
	kit.CompleteFlag(f, cmd, "stand", kit.Stands)
	return cmd
}

func scores(ctx context.Context, o *ScoresOptions) error {
	from, err := kit.OptTime(o.Factory, "--from", o.From)
	if err != nil {
		return err
	}
	c, err := o.Factory.Conn(ctx)
	if err != nil {
		return err
	}
	a, err := conn.Expect[oapi.ScoreReport](c.API.ReportScores(ctx, &oapi.ReportScoresParams{Grade: kit.OptText(o.Grade), Stand: kit.OptText(o.Stand), From: from}))
	if err != nil {
		return kit.Failure{Flag: map[string]string{"from": "--from"}}.Explain(err)
	}
	r := a.Value
	intervals := &render.Table{Columns: []render.Column{{Head: "forecast of", Key: "kind"}, right("scored", "count"), right("held, %", "coverage_pct"), right("at least", "coverage_low_pct").Spared(3), right("at most", "coverage_high_pct").Spared(4),
		right("off by", "bias"), right("±", "bias_se"), right("mean error", "absolute_error").Spared(1), right("width", "sharpness").Spared(2), {Head: "unit", Key: "unit"}}}
	for _, i := range r.Intervals {
		row := []string{words(i.Kind), count(i.Count), "", "", "", "", "", "", "", i.Unit}
		if i.Count > 0 {
			row = []string{words(i.Kind), count(i.Count), pct(i.Coverage), pct(i.CoverageLow), pct(i.CoverageHigh), render.Number(i.Bias, 3), render.Number(i.BiasSe, 2),
				render.Number(i.AbsoluteError, 3), render.Number(i.Sharpness, 3), i.Unit}
		}
		intervals.Add(row...)
	}
	return show(&o.Asked, a, intervals, func() error {
		t := o.Factory.Term
		t.Print("Intervals are meant to hold %s of what comes; at least and at most are the limits of 95 %%.", render.Percent(r.NominalCoverage))
		if err := intervals.Write(t); err != nil {
			return err
		}
		if r.Finish.Count > 0 {
			t.Print("\nFinish answers: %d scored, Brier score %s; saying %s every time would have scored %s.", r.Finish.Count, render.Number(r.Finish.Brier, 3), render.Percent(r.Finish.BaseRate), render.Number(r.Finish.BrierOfBaseRate, 3))
			if e, slope := r.Finish.CalibrationError, r.Finish.Slope; e != nil && slope != nil {
				t.Print("What was said lies %s off what came; slope of the log odds %s (below 1: too sure).", render.Percent(*e), render.Number(*slope, 2))
			}
			if err := reliability(r.Finish).Write(t); err != nil {
				return err
			}
		}
		rules := &render.Table{Columns: []render.Column{{Head: "against the spreadsheet's rule", Key: "kind"}, right("scored", "count"), right("mean error", "error"), right("the rule's", "rule_error"), right("saved, %", "skill_pct")}}
		rival := func(name string, r *oapi.RuleScore) {
			if r != nil {
				rules.Add(name, count(r.Count), render.Number(r.Error, 3), render.Number(r.RuleError, 3), pct(r.Skill))
			}
		}
		for _, i := range r.Intervals {
			rival(words(i.Kind), i.Rule)
		}
		rival("P(finish)", r.Finish.Rule)
		if len(rules.Rows) > 0 {
			t.Print("")
			if err := rules.Write(t); err != nil {
				return err
			}
		}
		t.Print("\n%d forecasts are open, %d will never have an outcome.", r.OpenCount, r.VoidCount)
		render.Bullets(t, "\nNotes:", r.Notes)
		return nil
	})
}

func reliability(s oapi.FinishScore) *render.Table {
	t := &render.Table{Columns: []render.Column{{Head: "said", Key: "said"}, right("times", "count"), right("on average", "mean_probability"), right("came true", "happened"), {Head: "95 % limits", Key: "limits"}}}
	for _, tenth := range s.Tenths {
		if tenth.Count > 0 {
			t.Add(fmt.Sprintf("%.1f to %.1f", tenth.From, tenth.To), count(tenth.Count), render.Percent(tenth.MeanProbability), render.Percent(float64(tenth.HappenedCount)/float64(tenth.Count)),
				render.Percent(tenth.Low)+" to "+render.Percent(tenth.High))
		}
	}
	return t
}

// words says what was forecast.
func words(kind string) string {
	switch kind {
	case "wear_um":
		return "wear at the next regrind"
	case "next_change":
		return "tonnes to the next change"
	case "scrap_months":
		return "months to scrap"
	}
	return render.Words(kind)
}

func pct(share float64) string { return fmt.Sprintf("%.1f", 100*share) }

func day(t time.Time) string { return t.UTC().Format(time.DateOnly) }
