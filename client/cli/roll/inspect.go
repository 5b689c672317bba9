package roll

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
	Number string
	Tests  []string
	Note   string
}

// NewCmdInspect records an inspection.
func NewCmdInspect(f *kit.Factory, runF func(context.Context, *InspectOptions) error) *cobra.Command {
	o := &InspectOptions{Factory: f}
	cmd := &cobra.Command{
		Use:   "inspect NUMBER",
		Short: "Record what a roll's tests found",
		Long: `Record what a roll's tests found. An outcome that is unknown releases nothing:
the roll stays in until the test is passed.`,
		Example: kit.Example("barrelbook roll inspect R1234 --test eddy_current:passed --test visual:passed",
			"barrelbook roll inspect R1234 --test ultrasonic:failed:crack=0.4mm --note \"left edge, 30 mm in\""),
		Args:              kit.Args("NUMBER"),
		ValidArgsFunction: kit.Complete(f, kit.Rolls),
		RunE: func(cmd *cobra.Command, args []string) error {
			o.Number = args[0]
			if runF != nil {
				return runF(cmd.Context(), o)
			}
			return inspect(cmd.Context(), o)
		},
	}
	kit.TestFlag(cmd, &o.Tests)
	cmd.Flags().StringVar(&o.Note, "note", "", "a remark")
	o.Recording.AddTo(cmd, true)
	kit.Require(cmd, "test")
	return cmd
}

func (o *InspectOptions) input() (in oapi.InspectionInput, err error) {
	e, err := kit.NewEntry(o.Factory)
	if err != nil {
		return in, err
	}
	if in.Tests, err = e.Tests(o.Tests); err != nil {
		return in, err
	}
	if err := e.Err(); err != nil {
		return in, err
	}
	in.Note = kit.OptText(o.Note)
	in.At, err = o.Moment()
	return in, err
}

func inspect(ctx context.Context, o *InspectOptions) error {
	what := "the inspection of " + o.Number + " was not recorded"
	in, err := o.input()
	if err != nil {
		return kit.Failure{What: what}.Explain(err)
	}
	c, err := o.Factory.Conn(ctx)
	if err != nil {
		return err
	}
	dry, key := o.Params()
	a, err := conn.Expect[oapi.Roll](c.API.RecordInspection(ctx, o.Number, &oapi.RecordInspectionParams{DryRun: dry, IdempotencyKey: key}, in))
	if err != nil {
		return failed(what, o.Number, map[string]string{"tests": "--test", "note": "--note", "at": "--at"}, err)
	}
	return shown(o.Factory, a, &o.Recording, "Recorded in the book of "+o.Number+".")
}
