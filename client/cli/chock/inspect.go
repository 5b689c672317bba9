package chock

import (
	"context"

	"github.com/spf13/cobra"

	"barrelbook/client/cli/kit"
	"barrelbook/client/conn"
	"barrelbook/client/oapi"
)

// InspectOptions is an inspection as typed.
type InspectOptions struct {
	Factory *kit.Factory
	kit.Recording
	Chock, Outcome, NewBearing, Note string
}

var outcomes = []string{"passed", "failed", "unknown"}

// NewCmdInspect records an inspection.
func NewCmdInspect(f *kit.Factory, runF func(context.Context, *InspectOptions) error) *cobra.Command {
	o := &InspectOptions{Factory: f}
	cmd := &cobra.Command{
		Use:   "inspect CHOCK OUTCOME",
		Short: "Record an inspection of the bearing, or a new one put in",
		Long: `Record an inspection of the bearing: passed, failed or unknown. A set with a
failed bearing does not go into a stand. --new-bearing says that another was put
in; its hours and tonnes begin again.`,
		Example: kit.Example("barrelbook chock inspect K17 passed", "barrelbook chock inspect K17 passed --new-bearing \"four-row taper 4488\""),
		Args:    kit.Args("CHOCK", "OUTCOME"),
		ValidArgsFunction: func(cmd *cobra.Command, args []string, typed string) ([]string, cobra.ShellCompDirective) {
			if len(args) == 1 {
				return outcomes, cobra.ShellCompDirectiveNoFileComp
			}
			return kit.Complete(f, names)(cmd, args, typed)
		},
		RunE: func(cmd *cobra.Command, args []string) error {
			o.Chock, o.Outcome = args[0], args[1]
			if !oapi.ChockInspectionInputOutcome(o.Outcome).Valid() {
				return kit.Usagef("%q is no outcome; it is passed, failed or unknown", o.Outcome)
			}
			if runF != nil {
				return runF(cmd.Context(), o)
			}
			return inspect(cmd.Context(), o)
		},
	}
	cmd.Flags().StringVar(&o.NewBearing, "new-bearing", "", "number or sort of the bearing put in now")
	cmd.Flags().StringVar(&o.Note, "note", "", "a remark")
	o.Recording.AddTo(cmd, true)
	return cmd
}

func inspect(ctx context.Context, o *InspectOptions) error {
	const what = "the inspection was not recorded"
	at, err := o.Moment(o.Factory)
	if err != nil {
		return kit.Failure{What: what}.Explain(err)
	}
	c, err := o.Factory.Conn(ctx)
	if err != nil {
		return err
	}
	dry, key := o.Params()
	a, err := conn.Expect[oapi.Chock](c.API.InspectChock(ctx, o.Chock, &oapi.InspectChockParams{DryRun: dry, IdempotencyKey: key},
		oapi.ChockInspectionInput{At: at, Outcome: oapi.ChockInspectionInputOutcome(o.Outcome), NewBearing: kit.OptText(o.NewBearing), Note: kit.OptText(o.Note)}))
	if err != nil {
		return kit.Failure{What: what, Flag: flags, Next: []string{kit.Path("chock show %s", o.Chock)}}.Explain(err)
	}
	return shown(o.Factory, a, &o.Recording, "The inspection of chock "+o.Chock+" is recorded.")
}
