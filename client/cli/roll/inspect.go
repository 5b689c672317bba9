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
	kit.Instrument
	Number   string
	Tests    []string
	Readings []string
	Note     string
	kit.Confirming
}

// NewCmdInspect records an inspection.
func NewCmdInspect(f *kit.Factory, runF func(context.Context, *InspectOptions) error) *cobra.Command {
	o := &InspectOptions{Factory: f}
	cmd := &cobra.Command{
		Use:   "inspect NUMBER",
		Short: "Record what a roll's tests found",
		Long: `Record what a roll's tests found. An outcome that is unknown releases nothing:
the roll stays in until the test is passed. A reading above its threshold fails
the test, whatever it is called. Places that are to be looked at are named with
their history.`,
		Example: kit.Example("barrelbook roll inspect R1234 --test eddy_current:passed --test visual:passed",
			"barrelbook roll inspect R1234 --test ultrasonic:failed:crack=0.4mm --note \"left edge, 30 mm in\"",
			"barrelbook roll inspect R1234 --reading eddy_current:bruise:at=812:around=140:value=1.4 --instrument ET-2"),
		Args:              kit.Args("NUMBER"),
		ValidArgsFunction: kit.Complete(f, kit.Rolls),
		RunE: func(cmd *cobra.Command, args []string) error {
			o.Number = args[0]
			if len(o.Tests)+len(o.Readings) == 0 {
				return kit.Usagef("%s needs --test or --reading", cmd.CommandPath())
			}
			if runF != nil {
				return runF(cmd.Context(), o)
			}
			return inspect(cmd.Context(), o)
		},
	}
	kit.TestFlag(cmd, &o.Tests)
	kit.ReadingFlag(cmd, &o.Readings)
	o.Instrument.AddTo(cmd)
	cmd.Flags().StringVar(&o.Note, "note", "", "a remark")
	o.Confirming.AddTo(cmd, false)
	o.Recording.AddTo(cmd, true)
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
	if in.Tests, err = e.Readings(in.Tests, o.Readings); err != nil {
		return in, err
	}
	if err := e.Err(); err != nil {
		return in, err
	}
	if err := o.Instrument.Into(o.Factory, in.Tests); err != nil {
		return in, err
	}
	in.Note = kit.OptText(o.Note)
	if in.Confirmed, _, err = o.Answers(); err != nil {
		return in, err
	}
	in.At, err = o.Moment(o.Factory)
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
	a, err := kit.Settled(o.Factory, in.Confirmed, func(confirmed *[]oapi.Question) (conn.Answer[oapi.Roll], error) {
		in.Confirmed = confirmed
		return conn.Expect[oapi.Roll](c.API.RecordInspection(ctx, o.Number, &oapi.RecordInspectionParams{DryRun: dry, IdempotencyKey: key}, in))
	})
	if err != nil {
		return failed(what, o.Number, map[string]string{"tests": "--test", "tests/readings": "--reading", "confirmed": "--confirm", "note": "--note", "at": "--at"}, err)
	}
	return shown(o.Factory, a, &o.Recording, "Recorded in the book of "+o.Number+".")
}
