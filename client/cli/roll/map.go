package roll

import (
	"context"

	"github.com/spf13/cobra"

	"barrelbook/client/cli/kit"
	"barrelbook/client/conn"
	"barrelbook/client/oapi"
)

// MapOptions choose the roll and how near readings of one place lie.
type MapOptions struct {
	Factory *kit.Factory
	kit.Drawing
	Number string
	Along  string
	Around kit.OptNumber
}

// NewCmdMap shows what tests read where on a barrel.
func NewCmdMap(f *kit.Factory, runF func(context.Context, *MapOptions) error) *cobra.Command {
	o := &MapOptions{Factory: f}
	cmd := &cobra.Command{
		Use:   "map NUMBER",
		Short: "Show what tests read where on the barrel, and what became of each place over the grinds",
		Long: `Show what tests read where on the barrel, and what became of each place over
the grinds. Readings within 20 mm along and 5° around are of one place, unless
--along and --around say otherwise.

What no test read is not known: an empty map is no proof of a sound barrel.`,
		Example:           kit.Example("barrelbook roll map R1234", "barrelbook roll map R1234 --along 40mm --around 10 --svg r1234.svg"),
		Args:              kit.Args("NUMBER"),
		ValidArgsFunction: kit.Complete(f, kit.Rolls),
		RunE: func(cmd *cobra.Command, args []string) error {
			o.Number = args[0]
			if runF != nil {
				return runF(cmd.Context(), o)
			}
			return showMap(cmd.Context(), o)
		},
	}
	cmd.Flags().StringVar(&o.Along, "along", "", "how far apart along the barrel readings of one place may lie (`LENGTH`)")
	cmd.Flags().Var(&o.Around, "around", "the same around it, degrees")
	o.Drawing.AddTo(cmd, "the map, and the readings of each place over the grinds")
	return cmd
}

func showMap(ctx context.Context, o *MapOptions) error {
	e, err := kit.NewEntry(o.Factory)
	if err != nil {
		return err
	}
	params := &oapi.MapRollParams{AlongMm: e.OptLength("--along", o.Along), AroundDeg: o.Around.Value}
	if err := e.Err(); err != nil {
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
	a, err := conn.Expect[oapi.RollMap](c.API.MapRoll(ctx, o.Number, params))
	if err != nil {
		return kit.Failure{Flag: map[string]string{"along_mm": "--along", "around_deg": "--around"}, Next: []string{kit.Path("roll list")}}.Explain(err)
	}
	if err := kit.Show(o.Factory, a, func(m oapi.RollMap) error { printMap(o.Factory.Term, u, m); return nil }); err != nil || !o.Drawing.Asked() {
		return err
	}
	return o.Drawing.Write(o.Factory, "What tests read on roll "+o.Number, mapPanels(u, a.Value))
}
