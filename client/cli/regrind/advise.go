package regrind

import (
	"context"

	"github.com/spf13/cobra"

	"barrelbook/client/cli/kit"
	"barrelbook/client/conn"
	"barrelbook/client/oapi"
)

// AdviseOptions is what was found on a roll, as typed.
type AdviseOptions struct {
	Factory *kit.Factory
	Roll    string

	Found, Crack, Crown, GrooveWorn string
	FoundDiameters                  []string
}

// NewCmdAdvise asks what to take off.
func NewCmdAdvise(f *kit.Factory, runF func(context.Context, *AdviseOptions) error) *cobra.Command {
	o := &AdviseOptions{Factory: f}
	cmd := &cobra.Command{
		Use:   "advise ROLL",
		Short: "Ask what to take off a roll, part by part, and what that leaves",
		Example: kit.Example("barrelbook regrind advise R1234",
			"barrelbook regrind advise R1234 --found 738.412 --crack 0.3mm"),
		Args:              kit.Args("ROLL"),
		ValidArgsFunction: kit.Complete(f, kit.Grindable),
		RunE: func(cmd *cobra.Command, args []string) error {
			o.Roll = args[0]
			if runF != nil {
				return runF(cmd.Context(), o)
			}
			return advise(cmd.Context(), o)
		},
	}
	cmd.Flags().StringVar(&o.Found, "found", "", "diameter as found (`LENGTH`)")
	cmd.Flags().StringSliceVar(&o.FoundDiameters, "found-diameters", nil, "diameters along the barrel as found, `PLACE:LENGTH` each with the place from the drive-side end; the deepest wear is then the measured one")
	cmd.Flags().StringVar(&o.Crack, "crack", "", "deepest crack found, on radius (`SMALL`: 300µm, 0.3mm, 12thou)")
	cmd.Flags().StringVar(&o.Crown, "crown", "", "crown to grind, on diameter (`SMALL`); the practice's when left out")
	cmd.Flags().StringVar(&o.GrooveWorn, "groove-worn", "", "deepest wear measured in a groove, on diameter (`SMALL`); computed when left out")
	return cmd
}

func (o *AdviseOptions) input() (in oapi.RegrindAdviceInput, err error) {
	e, err := kit.NewEntry(o.Factory)
	if err != nil {
		return in, err
	}
	in = oapi.RegrindAdviceInput{
		FoundMm: e.OptLength("--found", o.Found), CrackDepthUm: e.OptCrack("--crack", o.Crack), CrownUm: e.OptSmall("--crown", o.Crown), GrooveWornUm: e.OptSmall("--groove-worn", o.GrooveWorn),
		FoundStations: e.Stations("--found-diameters", o.FoundDiameters),
	}
	return in, e.Err()
}

func advise(ctx context.Context, o *AdviseOptions) error {
	in, err := o.input()
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
	a, err := conn.Expect[oapi.RegrindAdvice](c.API.AdviseRegrind(ctx, o.Roll, in))
	if err != nil {
		return kit.Failure{What: "there is no advice on " + o.Roll,
			Flag: map[string]string{"found_mm": "--found", "crack_depth_um": "--crack", "crown_um": "--crown", "groove_worn_um": "--groove-worn"},
			Next: []string{kit.Path("roll show %s", o.Roll)}}.Explain(err)
	}
	return kit.Show(o.Factory, a, func(advice oapi.RegrindAdvice) error { PrintAdvice(o.Factory.Term, u, advice); return nil })
}
