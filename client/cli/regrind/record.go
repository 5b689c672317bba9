package regrind

import (
	"context"

	"github.com/spf13/cobra"

	"barrelbook/client/cli/kit"
	"barrelbook/client/conn"
	"barrelbook/client/oapi"
)

// RecordOptions is a regrind as typed.
type RecordOptions struct {
	Factory *kit.Factory
	kit.Recording
	Measures
	Roll string
}

// NewCmdRecord records a regrind.
func NewCmdRecord(f *kit.Factory, runF func(context.Context, *RecordOptions) error) *cobra.Command {
	o := &RecordOptions{Factory: f}
	cmd := &cobra.Command{
		Use:   "record [ROLL]",
		Short: "Record a regrind and hear what is left and whether the roll is fit to go out",
		Long: `Record a regrind and hear what is left and whether the roll is fit to go out.

A figure that cannot be is refused: ground above found, found above the last
ground diameter. One that looks like a slip is asked about: wear or stock far
from what was rolled and advised, a roll that rolled nothing, two grinds within
minutes. Away from a terminal it is refused by the question's name, and taken
with --confirm and that name. More stock than is plausible and a grind below the
scrap limit ask for the reason in words. The same regrind sent twice is recorded
once.

Without figures, at a terminal, it asks for them one by one: the roll out of the
grinder's list, what was found, what it was ground to, the tests.`,
		Example: kit.Example(
			"barrelbook regrind record",
			"barrelbook regrind record R1234 --found 738.412 --ground 737.950 --for wear",
			"barrelbook regrind record R1234 --found 29.07in --ground 29.05in --for incident --test eddy_current:passed",
			"barrelbook regrind record R1234 --found 738.412 --ground 731.950 --for crack --confirm \"crack 3 mm deep\"",
			"barrelbook regrind record R1234 --found 738.412 --ground 737.950 --for wear --dry-run"),
		Args:              kit.Args("[ROLL]"),
		ValidArgsFunction: kit.Complete(f, kit.Grindable),
		RunE: func(cmd *cobra.Command, args []string) error {
			o.Roll = kit.Arg(args, 0)
			if missing := o.missing(cmd); missing != nil {
				if !f.Term.CanAsk() {
					return missing
				}
				if err := o.guided(cmd.Context()); err != nil {
					return err
				}
			}
			if runF != nil {
				return runF(cmd.Context(), o)
			}
			return record(cmd.Context(), o)
		},
	}
	o.Measures.addTo(cmd)
	o.Recording.AddTo(cmd, true)
	return cmd
}

func record(ctx context.Context, o *RecordOptions) error {
	what := "the regrind of " + o.Roll + " was not recorded"
	in, err := o.input(o.Factory, &o.Recording)
	if err != nil {
		return kit.Failure{What: what}.Explain(err)
	}
	u, err := o.Factory.Units()
	if err != nil {
		return err
	}
	c, err := o.Factory.Conn(ctx)
	if err != nil {
		return err
	}
	dry, key := o.Params()
	a, err := kit.Settled(o.Factory, in.Confirmed, func(confirmed *[]oapi.Question) (conn.Answer[oapi.RegrindAnswer], error) {
		in.Confirmed = confirmed
		return conn.Expect[oapi.RegrindAnswer](c.API.RecordRegrind(ctx, o.Roll, &oapi.RecordRegrindParams{DryRun: dry, IdempotencyKey: key}, in))
	})
	if err != nil {
		return kit.Failure{What: what, Flag: measureFlags, Next: []string{kit.Path("roll book %s --all", o.Roll)}}.Explain(err)
	}
	if err := kit.Show(o.Factory, a, func(answer oapi.RegrindAnswer) error { Print(o.Factory.Term, u, answer); return nil }); err != nil {
		return err
	}
	o.Noted(o.Factory, "Recorded as entry %d in the book of %s.", a.Value.Entry, o.Roll)
	return nil
}
