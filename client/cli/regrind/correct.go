package regrind

import (
	"context"

	"github.com/spf13/cobra"

	"barrelbook/client/cli/kit"
	"barrelbook/client/oapi"
)

// CorrectOptions is a correction as typed.
type CorrectOptions struct {
	Factory *kit.Factory
	kit.Recording
	Measures
	kit.Revising
	Roll, Reason string
	Entry        int64
	Clear        []string
}

// NewCmdCorrect corrects a regrind.
func NewCmdCorrect(f *kit.Factory, runF func(context.Context, *CorrectOptions) error) *cobra.Command {
	o := &CorrectOptions{Factory: f}
	cmd := &cobra.Command{
		Use:   "correct ROLL",
		Short: "Correct what a regrind said; what you do not name stays",
		Long: `Correct what a regrind said. Only what is given changes: crown, roughness, tests,
grinder and note stay as they were; --clear takes away a figure that was not
taken. What it changes and what follows, in stock, fitness, tests owed and
forecasts, is shown before you are asked. The entry stays in the book with the
one that took its place, and the reason. A regrind that was not made is
withdrawn instead: regrind undo.

Without --entry it is the last regrind of the roll that still holds; where
something was written after it, name it with --entry.`,
		Example: kit.Example(
			"barrelbook regrind correct R1234 --found 738.412 --reason \"two digits swapped\"",
			"barrelbook regrind correct R1234 --entry 58 --ground 737.950 --crown 50 --reason \"wrong line of the sheet\"",
			"barrelbook regrind correct R1234 --clear roughness --reason \"not measured\" --yes"),
		Args:              kit.Args("ROLL"),
		ValidArgsFunction: kit.Complete(f, kit.Rolls),
		RunE: func(cmd *cobra.Command, args []string) error {
			o.Roll = args[0]
			if runF != nil {
				return runF(cmd.Context(), o)
			}
			return correct(cmd.Context(), o)
		},
	}
	o.Measures.addTo(cmd)
	cmd.Flags().StringVar(&o.Reason, "reason", "", "why it is wrong")
	cmd.Flags().Int64Var(&o.Entry, "entry", 0, "the `NUMBER` of the wrong entry; the last regrind when left out")
	cmd.Flags().StringSliceVar(&o.Clear, "clear", nil, "a figure that was not taken, by its flag without the dashes (`WHAT`: crown, roughness), again for each: it is as if nothing had been said")
	o.Revising.AddTo(cmd)
	o.Recording.AddTo(cmd, true)
	kit.Require(cmd, "reason")
	return cmd
}

// clearable are the figures that may be taken away.
var clearable = []oapi.RegrindCorrectionClear{oapi.RegrindCorrectionClearTemperatureAboveShopK, oapi.RegrindCorrectionClearCrownUm, oapi.RegrindCorrectionClearTaperUm, oapi.RegrindCorrectionClearRunoutUm,
	oapi.RegrindCorrectionClearRoundnessUm, oapi.RegrindCorrectionClearRoughnessUm, oapi.RegrindCorrectionClearStations, oapi.RegrindCorrectionClearFoundStations, oapi.RegrindCorrectionClearGrooveWornUm,
	oapi.RegrindCorrectionClearGrinder, oapi.RegrindCorrectionClearTests, oapi.RegrindCorrectionClearConfirm, oapi.RegrindCorrectionClearNote}

var correctFlags = func() map[string]string {
	flags := map[string]string{"entry": "--entry", "reason": "--reason", "regrind/clear": "--clear"}
	for field, flag := range measureFlags {
		flags["regrind/"+field], flags[field] = flag, flag
	}
	return flags
}()

// change is what was typed, in the contract's terms.
func (o *CorrectOptions) change() (in oapi.RegrindCorrection, err error) {
	e, err := kit.NewEntry(o.Factory)
	if err != nil {
		return in, err
	}
	tests, err := e.Tests(o.Tests)
	if err != nil {
		return in, err
	}
	confirmed, reason, err := o.Answers()
	if err != nil {
		return in, err
	}
	in = oapi.RegrindCorrection{
		FoundMm: e.OptLength("--found", o.Found), GroundMm: e.OptLength("--ground", o.Ground), Purpose: kit.OptWord[oapi.RegrindPurpose](o.For),
		CrownUm: e.OptSmall("--crown", o.Crown), TaperUm: e.OptSmall("--taper", o.Taper), RunoutUm: e.OptSmall("--runout", o.Runout),
		RoundnessUm: e.OptSmall("--roundness", o.Roundness), Stations: e.Stations("--diameters", o.Diameters), FoundStations: e.Stations("--found-diameters", o.FoundDiameters),
		RoughnessUm: o.Roughness.Value, GrooveWornUm: e.OptSmall("--groove-worn", o.GrooveWorn), TemperatureAboveShopK: o.TemperatureAboveK.Value,
		Grinder: kit.OptText(o.Grinder), Confirm: reason, Confirmed: confirmed, Note: kit.OptText(o.Note),
	}
	if len(tests) > 0 {
		in.Tests = &tests
	}
	if err := e.Err(); err != nil {
		return in, err
	}
	if in.Clear, err = kit.Cleared[oapi.RegrindCorrectionClear](o.Clear, measureFlags, clearable); err != nil {
		return in, err
	}
	if in.At, err = o.Moment(o.Factory); err == nil && in == (oapi.RegrindCorrection{}) {
		err = kit.Usagef("say what was wrong in the regrind of %s, such as --found; %s withdraws it whole", o.Roll, kit.Path("regrind undo"))
	}
	return in, err
}

func correct(ctx context.Context, o *CorrectOptions) error {
	what := "the regrind of " + o.Roll + " was not corrected"
	in, err := o.change()
	if err != nil {
		return kit.Failure{What: what}.Explain(err)
	}
	c, err := o.Factory.Conn(ctx)
	if err != nil {
		return err
	}
	t := &target{factory: o.Factory, conn: c, recording: &o.Recording, roll: o.Roll, entry: o.Entry, yes: o.Yes, verb: "Correct", done: "corrected", what: what, flags: correctFlags}
	if err := t.find(ctx); err != nil {
		return err
	}
	return t.send(ctx, oapi.CorrectionInput{Entry: t.entry, Reason: o.Reason, Regrind: &in})
}
