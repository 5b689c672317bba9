package campaign

import (
	"context"

	"github.com/spf13/cobra"

	"barrelbook/client/cli/kit"
	"barrelbook/client/conn"
	"barrelbook/client/oapi"
	"barrelbook/client/render"
	"barrelbook/domain/drawing"
)

// CheckOptions is the question as typed.
type CheckOptions struct {
	Factory               *kit.Factory
	Campaign, Stand, With string
	From                  kit.OptCount
	AsOf                  string
	Explain               bool
	kit.Drawing
}

// NewCmdCheck asks whether the sets can finish a campaign.
func NewCmdCheck(f *kit.Factory, runF func(context.Context, *CheckOptions) error) *cobra.Command {
	o := &CheckOptions{Factory: f}
	cmd := &cobra.Command{
		Use:   "check [CAMPAIGN]",
		Short: "Can the sets in the stands finish the campaign?",
		Long: `Can the sets in the stands, or the set named, finish the campaign? For each
stand: yes, marginal, no, or blocked; what runs out first and at which piece;
how sure the answer is; and what would make it a yes. The newest campaign is
checked when none is named. It records nothing.`,
		Example: kit.Example("barrelbook campaign check", "barrelbook campaign check C12 --stand F3 --with S81",
			"barrelbook campaign check C12 --from-piece 120 --explain"),
		Args:              kit.Args("[CAMPAIGN]"),
		ValidArgsFunction: kit.Complete(f, kit.Campaigns),
		RunE: func(cmd *cobra.Command, args []string) error {
			o.Campaign = kit.Arg(args, 0)
			if o.With != "" && o.Stand == "" {
				return kit.Usagef("--with names a set for one stand: say which with --stand")
			}
			if runF != nil {
				return runF(cmd.Context(), o)
			}
			return check(cmd.Context(), o)
		},
	}
	cmd.Flags().StringVar(&o.Stand, "stand", "", "check this `STAND` only")
	cmd.Flags().StringVar(&o.With, "with", "", "with this `SET` in the stand instead of the one there")
	cmd.Flags().Var(&o.From, "from-piece", "the first piece still to be rolled; 1 when left out")
	cmd.Flags().StringVar(&o.AsOf, "as-of", "", "as the books stood at this `TIME`")
	cmd.Flags().BoolVar(&o.Explain, "explain", false, "show the margin of every limit")
	o.Drawing.AddTo(cmd, "the nearest limits of each stand, piece by piece,")
	kit.CompleteFlag(f, cmd, "stand", kit.Stands)
	kit.CompleteFlag(f, cmd, "with", kit.Sets)
	return cmd
}

func check(ctx context.Context, o *CheckOptions) error {
	at, err := kit.OptTime(o.Factory, "--as-of", o.AsOf)
	if err != nil {
		return err
	}
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
	in := oapi.FinishCheckInput{Stand: kit.OptText(o.Stand), WithSet: kit.OptText(o.With), FromPiece: o.From.Value, AsOf: at}
	if o.Explain {
		in.Explain = &o.Explain
	}
	if drawn := o.Drawing.Asked(); drawn {
		in.Course = &drawn
	}
	a, err := conn.Expect[oapi.FinishCheck](c.API.CheckFinish(ctx, o.Campaign, in))
	if err != nil {
		return kit.Failure{What: "campaign " + o.Campaign + " could not be checked",
			Flag: map[string]string{"stand": "--stand", "with_set": "--with", "from_piece": "--from-piece", "as_of": "--as-of"},
			Next: []string{kit.Path("campaign list")}}.Explain(err)
	}
	if err := o.Drawing.Write(o.Factory, "Campaign "+o.Campaign+": its limits as they fill", limitPanels(a.Value)); err != nil {
		return err
	}
	return kit.Show(o.Factory, a, func(x oapi.FinishCheck) error { PrintCheck(o.Factory.Term, u, x, o.Explain); return nil })
}

// limitPanels are what --svg and --png draw: the nearest limits of each stand.
func limitPanels(a oapi.FinishCheck) (panels []drawing.Panel) {
	for _, s := range a.Stands {
		var limits []drawing.Fill
		for _, m := range s.Margins {
			if m.Course == nil {
				continue
			}
			f := drawing.Fill{Name: m.Roll + " " + render.Words(m.Criterion), Limit: m.Limit}
			for _, step := range *m.Course {
				f.Piece, f.Value = append(f.Piece, float64(step.Piece)), append(f.Value, step.Value)
				f.Low, f.High = append(f.Low, step.Low), append(f.High, step.High)
			}
			limits = append(limits, f)
		}
		if len(limits) > 0 {
			panels = append(panels, drawing.Filling(s.Stand+": the nearest limits, piece by piece", limits, nil))
		}
	}
	return panels
}
