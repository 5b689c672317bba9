package campaign

import (
	"bytes"
	"context"

	"github.com/spf13/cobra"

	"barrelbook/client/cli/kit"
	"barrelbook/client/conn"
	"barrelbook/client/oapi"
)

// LoadOptions choose the file.
type LoadOptions struct {
	Factory *kit.Factory
	kit.Recording
	File string
}

// NewCmdLoad loads a programme.
func NewCmdLoad(f *kit.Factory, runF func(context.Context, *LoadOptions) error) *cobra.Command {
	o := &LoadOptions{Factory: f}
	cmd := &cobra.Command{
		Use:   "load FILE|-",
		Short: "Load the programme ahead of a mill",
		Long: `Load the programme ahead of a mill from a JSON file (CampaignInput of the API):

  {"name": "C12", "mill": "HSM", "starts_at": "2026-03-04T14:00:00Z",
   "planned_stops": [{"before_piece": 81, "name": "shift change",
                      "minutes": 15}],
   "pieces": [{"id": "P1", "mass_t": 18.2, "width_mm": 1250,
               "entry_thickness_mm": 32,
               "passes": [{"stand": "F1", "exit_thickness_mm": 18.4,
                           "force_kn": 17800}]}]}

Pieces are in rolling order; the first one is number 1.`,
		Example: kit.Example("barrelbook campaign load programme.json", "barrelbook campaign load - --dry-run < programme.json"),
		Args:    kit.Args("[FILE]"),
		RunE: func(cmd *cobra.Command, args []string) error {
			o.File = kit.Arg(args, 0)
			if runF != nil {
				return runF(cmd.Context(), o)
			}
			return load(cmd.Context(), o)
		},
	}
	o.Recording.AddTo(cmd, false)
	return cmd
}

func load(ctx context.Context, o *LoadOptions) error {
	const what = "the campaign was not loaded"
	body, err := kit.ReadJSON(o.Factory, o.File, "a programme")
	if err != nil {
		return kit.Failure{What: what, Next: []string{kit.Path("campaign load --help")}}.Explain(err)
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
	a, err := conn.Expect[oapi.Campaign](c.API.LoadCampaignWithBody(ctx, &oapi.LoadCampaignParams{DryRun: dry, IdempotencyKey: key},
		"application/json", bytes.NewReader(body)))
	if err != nil {
		return kit.Failure{What: what, Next: []string{kit.Path("campaign load --help")}}.Explain(err)
	}
	if err := kit.Show(o.Factory, a, func(x oapi.Campaign) error { Print(o.Factory.Term, u, x, false); return nil }); err != nil {
		return err
	}
	o.Noted(o.Factory, "Campaign %s is loaded. Next: %s", a.Value.Name, kit.Path("campaign check %s", a.Value.Name))
	return nil
}
