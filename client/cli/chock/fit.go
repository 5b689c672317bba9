package chock

import (
	"context"

	"github.com/spf13/cobra"

	"barrelbook/client/cli/kit"
	"barrelbook/client/conn"
	"barrelbook/client/oapi"
)

// FitOptions is a fitting as typed.
type FitOptions struct {
	Factory *kit.Factory
	kit.Recording
	Chock, Set, Place, Note string
	Off                     bool
}

// NewCmdFit puts a chock on a set or takes it off.
func NewCmdFit(f *kit.Factory, runF func(context.Context, *FitOptions) error) *cobra.Command {
	o := &FitOptions{Factory: f}
	cmd := &cobra.Command{
		Use:               "fit CHOCK",
		Short:             "Fit a chock to a place of a set, or take it off",
		Example:           kit.Example("barrelbook chock fit K17 --set S81 --place top-drive", "barrelbook chock fit K17 --off"),
		Args:              kit.Args("CHOCK"),
		ValidArgsFunction: kit.Complete(f, names),
		RunE: func(cmd *cobra.Command, args []string) error {
			o.Chock = args[0]
			if o.Off == (o.Set != "") {
				return kit.Usagef("say where it goes: --set SET and --place PLACE, or --off")
			}
			if runF != nil {
				return runF(cmd.Context(), o)
			}
			return fit(cmd.Context(), o)
		},
	}
	cmd.Flags().StringVar(&o.Set, "set", "", "the `SET` it goes on")
	kit.Word(cmd, &o.Place, "place", "", "its place on the set", []string{"top_drive", "top_operator", "bottom_drive", "bottom_operator"})
	cmd.Flags().BoolVar(&o.Off, "off", false, "take it off the set it is on")
	cmd.Flags().StringVar(&o.Note, "note", "", "a remark")
	o.Recording.AddTo(cmd, true)
	kit.CompleteFlag(f, cmd, "set", kit.Sets)
	return cmd
}

func fit(ctx context.Context, o *FitOptions) error {
	const what = "nothing was fitted"
	at, err := o.Moment(o.Factory)
	if err != nil {
		return kit.Failure{What: what}.Explain(err)
	}
	c, err := o.Factory.Conn(ctx)
	if err != nil {
		return err
	}
	dry, key := o.Params()
	a, err := conn.Expect[oapi.Chock](c.API.FitChock(ctx, o.Chock, &oapi.FitChockParams{DryRun: dry, IdempotencyKey: key},
		oapi.ChockFittingInput{At: at, Set: kit.OptText(o.Set), Place: kit.OptWord[oapi.ChockPlace](o.Place), Note: kit.OptText(o.Note)}))
	if err != nil {
		return kit.Failure{What: what, Flag: flags, Next: []string{kit.Path("chock show %s", o.Chock)}}.Explain(err)
	}
	done := "Chock " + o.Chock + " is on set " + o.Set + "."
	if o.Off {
		done = "Chock " + o.Chock + " is off."
	}
	return shown(o.Factory, a, &o.Recording, done)
}
