package regrind

import (
	"context"
	"encoding/json"
	"errors"
	"slices"
	"strconv"
	"time"

	"github.com/spf13/cobra"

	"barrelbook/client/cli/kit"
	"barrelbook/client/cli/roll"
	"barrelbook/client/conn"
	"barrelbook/client/oapi"
	"barrelbook/client/paper"
	"barrelbook/client/render"
)

// QueueOptions choose the programme whose plan orders the list.
type QueueOptions struct {
	Factory  *kit.Factory
	Campaign string
	Mill     string
	CSV      bool
	kit.Paper
}

// NewCmdQueue lists what is to be ground.
func NewCmdQueue(f *kit.Factory, runF func(context.Context, *QueueOptions) error) *cobra.Command {
	o := &QueueOptions{Factory: f}
	cmd := &cobra.Command{
		Use:   "queue",
		Short: "The grinder's list: what is to be ground, in order, with what to take off",
		Long: `The grinder's list: every roll that is worn or new, in the order in which the
plan of changes wants them, with the diameter to grind to and what to take off. A
roll that is still warm says until when. Rolls that no plan names come last.`,
		Example: kit.Example("barrelbook regrind queue", "barrelbook regrind queue --csv"),
		Args:    kit.Args(),
		RunE: func(cmd *cobra.Command, _ []string) error {
			if runF != nil {
				return runF(cmd.Context(), o)
			}
			return queue(cmd.Context(), o)
		},
	}
	cmd.Flags().StringVar(&o.Campaign, "campaign", "", "the `CAMPAIGN` whose plan orders the list; the newest when left out")
	cmd.Flags().StringVar(&o.Mill, "mill", "", "only rolls of this `MILL`")
	o.Paper.AddTo(cmd, "the list to lie on the grinder")
	cmd.Flags().BoolVar(&o.CSV, "csv", false, "comma-separated, for a spreadsheet")
	kit.CompleteFlag(f, cmd, "campaign", kit.Campaigns)
	kit.CompleteFlag(f, cmd, "mill", kit.Mills)
	return cmd
}

// waiting is one roll of the list, with what the service says of it.
type waiting struct {
	Roll   oapi.Roll           `json:"roll"`
	Job    *oapi.GrinderJob    `json:"job,omitempty"`    // none where no plan names it
	Advice *oapi.RegrindAdvice `json:"advice,omitempty"` // none where it cannot be ground, as Not says
	Not    string              `json:"not,omitempty"`
}

// Waiting are the rolls that wait for a grinder, first the one to be ground first.
func Waiting(ctx context.Context, c *conn.Conn, campaign, mill string) ([]waiting, error) {
	jobs, err := plannedJobs(ctx, c, campaign)
	if err != nil {
		return nil, err
	}
	var list []waiting
	for _, stage := range []oapi.Stage{oapi.StageWorn, oapi.StageNew} {
		rolls, err := roll.Every(ctx, c, oapi.ListRollsParams{Stage: &stage, Mill: kit.OptText(mill)})
		if err != nil {
			return nil, err
		}
		for _, r := range rolls {
			one := waiting{Roll: r, Job: jobs[r.Number]}
			a, err := conn.Expect[oapi.RegrindAdvice](c.API.AdviseRegrind(ctx, r.Number, oapi.RegrindAdviceInput{}))
			var no *conn.Problem
			switch {
			case err == nil:
				one.Advice = &a.Value
			case errors.As(err, &no) && no.Status < 500:
				one.Not = no.Error()
			default:
				return nil, err
			}
			list = append(list, one)
		}
	}
	slices.SortStableFunc(list, func(a, b waiting) int { return a.start().Compare(b.start()) })
	return list, nil
}

// start is when the plan wants it on a grinder; in the far future where none does.
func (w waiting) start() time.Time {
	if w.Job == nil {
		return time.Unix(1<<40, 0)
	}
	return w.Job.StartAt
}

// plannedJobs are the jobs of the grinders by roll; none where no programme is
// loaded or none can be planned.
func plannedJobs(ctx context.Context, c *conn.Conn, campaign string) (map[string]*oapi.GrinderJob, error) {
	jobs := map[string]*oapi.GrinderJob{}
	name, err := kit.CampaignOr(ctx, c, campaign)
	if errors.Is(err, kit.NoCampaign) {
		return jobs, nil
	}
	if err != nil {
		return nil, err
	}
	plan, err := conn.Expect[oapi.ChangePlan](c.API.PlanChanges(ctx, oapi.ChangePlanInput{Campaign: name}))
	var no *conn.Problem
	switch {
	case errors.As(err, &no) && campaign == "" && no.Status < 500:
		return jobs, nil
	case err != nil:
		return nil, kit.Failure{What: "there is no plan for " + name}.Explain(err)
	}
	for i := range plan.Value.GrinderQueue {
		for _, number := range plan.Value.GrinderQueue[i].Rolls {
			jobs[number] = &plan.Value.GrinderQueue[i]
		}
	}
	return jobs, nil
}

func queue(ctx context.Context, o *QueueOptions) error {
	u, err := o.Factory.Units()
	if err != nil {
		return err
	}
	c, err := o.Factory.Conn(ctx)
	if err != nil {
		return err
	}
	list, err := Waiting(ctx, c, o.Campaign, o.Mill)
	if err != nil {
		return err
	}
	if o.PDF != "" {
		if err := o.Paper.Write(o.Factory, paper.Page{Title: "To be ground, in this order", Tables: []paper.Table{onPaper(u, list)}}); err != nil {
			return err
		}
	}
	if o.Factory.JSON {
		raw, err := json.Marshal(map[string]any{"items": list})
		if err != nil {
			return err
		}
		return kit.Raw(o.Factory, raw)
	}
	table := &render.Table{Columns: []render.Column{{Head: "roll", Key: "roll"}, {Head: "set", Key: "set", Spare: 2}, u.LengthColumn("last", "diameter").Spared(3), u.LengthColumn("take off", "stock"),
		u.LengthColumn("grind to", "aim"), u.SmallColumn("crown", "crown"), {Head: "warm until", Key: "cool_at"}, {Head: "due", Key: "due_at"}, {Head: "for", Key: "for", Spare: 1},
		{Head: "grinder", Key: "grinder", Right: true, Spare: 4}, {Head: "why not", Key: "not"}}}
	for _, w := range list {
		table.Add(w.cells(u)...)
	}
	if o.CSV {
		return table.CSV(o.Factory.Term.Data())
	}
	if len(list) == 0 {
		o.Factory.Term.Say("Nothing waits for a grinder.")
	}
	return table.Write(o.Factory.Term)
}

func (w waiting) cells(u render.Units) []string {
	s := w.Roll.State
	row := []string{w.Roll.Number, render.Opt(s.Set), render.Bare(u.Length(s.DiameterMm)), "", "", "", render.OptTime(s.CoolAt), "", "", "", w.Not}
	if s.Held != nil && w.Not == "" {
		row[10] = "held: " + *s.Held
	}
	if a := w.Advice; a != nil {
		row[3], row[4] = render.Bare(u.Length(a.StockMm)), render.Bare(u.Length(a.AimDiameterMm))
		if a.AimCrownUm != nil {
			row[5] = render.Bare(u.Small(*a.AimCrownUm))
		}
	}
	if j := w.Job; j != nil {
		row[7], row[8], row[9] = render.OptTime(j.DueAt), render.Opt(j.ForStand), strconv.FormatInt(j.Grinder, 10)
	}
	return row
}

// onPaper is the list as it lies on the grinder, with a column to tick.
func onPaper(u render.Units, list []waiting) paper.Table {
	t := paper.Table{Heads: []string{"roll", "set", u.LengthColumn("last", "").Head, u.LengthColumn("take off", "").Head, u.LengthColumn("grind to", "").Head, u.SmallColumn("crown", "").Head, "warm until", "due", "for", "why not", "done"},
		Shares: []float64{0.1, 0.1, 0.09, 0.08, 0.09, 0.07, 0.12, 0.12, 0.06, 0.1, 0.07}}
	for _, w := range list {
		c := w.cells(u)
		t.Rows = append(t.Rows, append(slices.Delete(c, 9, 10), "")) // which grinder is plain where it lies
	}
	return t
}
