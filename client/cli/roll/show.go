package roll

import (
	"context"

	"github.com/spf13/cobra"

	"barrelbook/client/cli/kit"
	"barrelbook/client/conn"
	"barrelbook/client/oapi"
)

// ShowOptions choose the roll and the moment.
type ShowOptions struct {
	Factory *kit.Factory
	kit.Drawing
	kit.Paper
	Number string
	AsOf   string
	Label  string
}

// NewCmdShow shows one roll.
func NewCmdShow(f *kit.Factory, runF func(context.Context, *ShowOptions) error) *cobra.Command {
	o := &ShowOptions{Factory: f}
	cmd := &cobra.Command{
		Use:   "show NUMBER",
		Short: "Show a roll: its state, whether it is fit, what is owed, what is left, what it has borne",
		Example: kit.Example("barrelbook roll show R1234", "barrelbook roll show R1234 --as-of 2026-01-01",
			"barrelbook roll show R1234 --svg r1234.svg", "barrelbook roll show R1234 --pdf card.pdf --label label.pdf"),
		Args:              kit.Args("NUMBER"),
		ValidArgsFunction: kit.Complete(f, kit.Rolls),
		RunE: func(cmd *cobra.Command, args []string) error {
			o.Number = args[0]
			if runF != nil {
				return runF(cmd.Context(), o)
			}
			return show(cmd.Context(), o)
		},
	}
	o.Drawing.AddTo(cmd, "load, wear and fatigue along the barrel")
	o.Paper.AddTo(cmd, "the roll's card, with codes of its number,")
	cmd.Flags().StringVar(&o.Label, "label", "", "make a label of 100 by 50 mm in this `FILE`, as PDF")
	cmd.Flags().StringVar(&o.AsOf, "as-of", "", "as the book stood at this `TIME`")
	return cmd
}

func show(ctx context.Context, o *ShowOptions) error {
	at, err := kit.OptTime(o.Factory, "--as-of", o.AsOf)
	if err != nil {
		return err
	}
	c, err := o.Factory.Conn(ctx)
	if err != nil {
		return err
	}
	a, err := conn.Expect[oapi.Roll](c.API.GetRoll(ctx, o.Number, &oapi.GetRollParams{AsOf: at}))
	if err != nil {
		return kit.Failure{Flag: map[string]string{"as_of": "--as-of"}, Next: []string{kit.Path("roll list")}}.Explain(err)
	}
	if err := shown(o.Factory, a, nil, ""); err != nil {
		return err
	}
	u, err := o.Factory.Units()
	if err != nil {
		return err
	}
	if o.Drawing.Asked() {
		panels, err := barrelPanels(ctx, c, u, a.Value)
		if err != nil {
			return err
		}
		if err := o.Drawing.Write(o.Factory, "Roll "+o.Number, panels); err != nil {
			return err
		}
	}
	if o.PDF != "" {
		page, err := Card(ctx, c, u, a.Value)
		if err != nil {
			return err
		}
		if err := o.Paper.Write(o.Factory, page); err != nil {
			return err
		}
	}
	return kit.Into(o.Factory, o.Label, label(o.Factory, u, a.Value).Write)
}
