package change

import (
	"context"

	"github.com/spf13/cobra"

	"barrelbook/client/cli/kit"
	"barrelbook/client/conn"
	"barrelbook/client/oapi"
)

// PlanOptions is the question as typed.
type PlanOptions struct {
	Factory    *kit.Factory
	Campaign   string
	Stands     []string
	Confidence kit.OptNumber
	Grinders   kit.OptCount
	Explain    bool
}

// NewCmdPlan plans the roll changes of a campaign.
func NewCmdPlan(f *kit.Factory, runF func(context.Context, *PlanOptions) error) *cobra.Command {
	o := &PlanOptions{Factory: f}
	cmd := &cobra.Command{
		Use:   "plan [CAMPAIGN]",
		Short: "Plan the roll changes of a campaign: which stand, before which piece, with which ready set",
		Long: `Plan the roll changes of a campaign at least cost: which stand changes before
which piece, at which stop, with which ready set, and what the grinders do for
it. The newest campaign is planned when none is named. It records nothing.`,
		Example:           kit.Example("barrelbook change plan", "barrelbook change plan C12 --stand F3 --stand F4", "barrelbook change plan --grinders 2 --json"),
		Args:              kit.Args("[CAMPAIGN]"),
		ValidArgsFunction: kit.Complete(f, kit.Campaigns),
		RunE: func(cmd *cobra.Command, args []string) error {
			o.Campaign = kit.Arg(args, 0)
			if runF != nil {
				return runF(cmd.Context(), o)
			}
			return plan(cmd.Context(), o)
		},
	}
	cmd.Flags().StringSliceVar(&o.Stands, "stand", nil, "plan this `STAND` only, again for each")
	cmd.Flags().Var(&o.Confidence, "confidence", "that no limit is passed between changes, stand by stand; 0.95 when left out")
	cmd.Flags().Var(&o.Grinders, "grinders", "grinders at work; as the practice says when left out")
	cmd.Flags().BoolVar(&o.Explain, "explain", false, "say more of what the plan rests on")
	kit.CompleteFlag(f, cmd, "stand", kit.Stands)
	return cmd
}

func plan(ctx context.Context, o *PlanOptions) error {
	u, err := o.Factory.Units()
	if err != nil {
		return err
	}
	c, err := o.Factory.Conn(ctx)
	if err != nil {
		return err
	}
	if o.Campaign, err = kit.CampaignOr(ctx, c, o.Campaign); err != nil {
		return err
	}
	in := oapi.ChangePlanInput{Campaign: o.Campaign, Stands: kit.OptList(o.Stands), Confidence: o.Confidence.Value, GrinderCount: o.Grinders.Value}
	if o.Explain {
		in.Explain = &o.Explain
	}
	a, err := conn.Expect[oapi.ChangePlan](c.API.PlanChanges(ctx, in))
	if err != nil {
		return kit.Failure{What: "there is no plan for " + o.Campaign,
			Flag: map[string]string{"campaign": "CAMPAIGN", "stands": "--stand", "confidence": "--confidence", "grinder_count": "--grinders"},
			Next: []string{kit.Path("campaign list")}}.Explain(err)
	}
	return kit.Show(o.Factory, a, func(p oapi.ChangePlan) error { PrintPlan(o.Factory.Term, u, p); return nil })
}
