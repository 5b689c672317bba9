package roll

import (
	"context"

	"github.com/spf13/cobra"

	"barrelbook/client/cli/kit"
	"barrelbook/client/conn"
	"barrelbook/client/oapi"
)

// ScrapOptions is a scrapping as typed.
type ScrapOptions struct {
	Factory *kit.Factory
	kit.Recording
	Number, Why, Reason string
	Yes                 bool
}

// NewCmdScrap ends a roll.
func NewCmdScrap(f *kit.Factory, runF func(context.Context, *ScrapOptions) error) *cobra.Command {
	o := &ScrapOptions{Factory: f}
	cmd := &cobra.Command{
		Use:   "scrap NUMBER",
		Short: "Scrap a roll: its book is closed and its number never used again",
		Long: `Scrap a roll: its book is closed, and its number is never used again. A roll that
was scrapped by mistake is brought back by an engineer, who withdraws the entry:
regrind undo ROLL --entry NUMBER.`,
		Example:           kit.Example("barrelbook roll scrap R1234 --why spall --reason \"saddle spall 80 mm from the edge\""),
		Args:              kit.Args("NUMBER"),
		ValidArgsFunction: kit.Complete(f, kit.Rolls),
		RunE: func(cmd *cobra.Command, args []string) error {
			o.Number = args[0]
			if runF != nil {
				return runF(cmd.Context(), o)
			}
			return scrap(cmd.Context(), o)
		},
	}
	kit.Word(cmd, &o.Why, "why", "", "what ended it", []string{"diameter", "spall", "crack", "neck", "economic"})
	cmd.Flags().StringVar(&o.Reason, "reason", "", "what was seen")
	cmd.Flags().BoolVar(&o.Yes, "yes", false, "do not ask")
	o.Recording.AddTo(cmd, true)
	kit.Require(cmd, "why", "reason")
	return cmd
}

func scrap(ctx context.Context, o *ScrapOptions) error {
	const what = "the roll was not scrapped"
	at, err := o.Moment(o.Factory)
	if err != nil {
		return kit.Failure{What: what}.Explain(err)
	}
	if err := kit.Confirmed(o.Factory, o.Yes || o.DryRun, "Scrap "+o.Number+" and close its book?"); err != nil {
		return err
	}
	c, err := o.Factory.Conn(ctx)
	if err != nil {
		return err
	}
	dry, key := o.Params()
	a, err := conn.Expect[oapi.Roll](c.API.ScrapRoll(ctx, o.Number, &oapi.ScrapRollParams{DryRun: dry, IdempotencyKey: key},
		oapi.ScrappingInput{Why: oapi.ScrappingInputWhy(o.Why), Reason: o.Reason, At: at}))
	if err != nil {
		return failed(what, o.Number, map[string]string{"why": "--why", "reason": "--reason", "at": "--at"}, err)
	}
	return shown(o.Factory, a, &o.Recording, "The book of "+o.Number+" is closed.")
}
