// Package calc holds the models without the books: one command for each, which
// takes and gives the JSON of the service.
package calc

import (
	"bytes"
	"context"
	"encoding/json"
	"io"
	"net/http"

	"github.com/spf13/cobra"

	"barrelbook/client/cli/kit"
	"barrelbook/client/conn"
	"barrelbook/client/oapi"
)

// NewCmd gathers the models.
func NewCmd(f *kit.Factory) *cobra.Command {
	cmd := kit.Noun("calc", "Compute with one model, without the books")
	cmd.Long = `Compute with one model, without the books. Each takes a JSON file and prints a
table, or with --json the service's own answer. Lengths are in mm, forces in N
or kN and stresses in MPa, as the fields' names say, whatever --units is.`
	cmd.Example = kit.Example("barrelbook calc contact contact.json --json",
		`echo '{"work": {"diameter_mm": 750,`,
		`          "elastic_modulus_mpa": 206000, "poisson_ratio": 0.3},`,
		` "backup": {"diameter_mm": 1500,`,
		`            "elastic_modulus_mpa": 206000, "poisson_ratio": 0.3},`,
		` "line_load_n_per_mm": 10000}' | barrelbook calc contact -`)
	for _, m := range models {
		cmd.AddCommand(newCmdModel(f, m, nil))
	}
	return cmd
}

// model is one calculation of the contract.
type model struct {
	name, short string
	post        func(ctx context.Context, api *oapi.Client, body io.Reader) (*http.Response, error)
	// csv turns a spreadsheet into the model's JSON, where one is taken.
	csv func(text []byte) ([]byte, error)
}

const asJSON = "application/json"

var models = []model{
	{name: "contact", short: "Hertz line contact of a work roll on a backup roll", post: func(ctx context.Context, api *oapi.Client, body io.Reader) (*http.Response, error) {
		return api.CalculateContactWithBody(ctx, asJSON, body)
	}},
	{name: "roll-load", short: "Load along the barrels between the rolls of a four-high or six-high stand", post: func(ctx context.Context, api *oapi.Client, body io.Reader) (*http.Response, error) {
		return api.CalculateRollLoadWithBody(ctx, asJSON, body)
	}},
	{name: "gap-profile", short: "Change of the gap between two work rolls: wear, heat, shifted contours, crossing, bending", post: func(ctx context.Context, api *oapi.Client, body io.Reader) (*http.Response, error) {
		return api.CalculateGapProfileWithBody(ctx, asJSON, body)
	}},
	{name: "roll-force", short: "Rolling force by a method named: sims, ekelund, bland-ford, hill, slipping, sticking, constant-pressure, measured", post: func(ctx context.Context, api *oapi.Client, body io.Reader) (*http.Response, error) {
		return api.CalculateRollForceWithBody(ctx, asJSON, body)
	}},
	{name: "cooling", short: "Cooling of a withdrawn roll", post: func(ctx context.Context, api *oapi.Client, body io.Reader) (*http.Response, error) {
		return api.CalculateCoolingWithBody(ctx, asJSON, body)
	}},
	{name: "weibull", short: "Weibull fit to lives, those still running included", post: func(ctx context.Context, api *oapi.Client, body io.Reader) (*http.Response, error) {
		return api.CalculateWeibullWithBody(ctx, asJSON, body)
	}},
	{name: "wear-rate", short: "Wear rates learned from campaigns (JSON, or CSV with the campaigns)", csv: campaignsFromCSV, post: func(ctx context.Context, api *oapi.Client, body io.Reader) (*http.Response, error) {
		return api.CalculateWearRateWithBody(ctx, asJSON, body)
	}},
	{name: "roll-life", short: "Campaigns and tonnes that a roll has left", post: func(ctx context.Context, api *oapi.Client, body io.Reader) (*http.Response, error) {
		return api.CalculateRollLifeWithBody(ctx, asJSON, body)
	}},
	{name: "change-plan", short: "When to change which stand, at least cost", post: func(ctx context.Context, api *oapi.Client, body io.Reader) (*http.Response, error) {
		return api.CalculateChangePlanWithBody(ctx, asJSON, body)
	}},
}

// Options choose the input.
type Options struct {
	Factory *kit.Factory
	Model   string
	File    string
}

func newCmdModel(f *kit.Factory, m model, runF func(context.Context, *Options) error) *cobra.Command {
	o := &Options{Factory: f, Model: m.name}
	return &cobra.Command{
		Use:   m.name + " [FILE|-]",
		Short: m.short,
		Args:  kit.Args("[FILE]"),
		RunE: func(cmd *cobra.Command, args []string) error {
			o.File = kit.Arg(args, 0)
			if runF != nil {
				return runF(cmd.Context(), o)
			}
			return calculate(cmd.Context(), o, m)
		},
	}
}

func calculate(ctx context.Context, o *Options, m model) error {
	body, err := kit.ReadInput(o.Factory, o.File, "the input of "+m.name)
	if err != nil {
		return err
	}
	if m.csv != nil && !bytes.HasPrefix(bytes.TrimSpace(body), []byte("{")) {
		if body, err = m.csv(body); err != nil {
			return &kit.Input{Err: err}
		}
	} else if err := kit.BrokenJSON(o.File, body); err != nil {
		return kit.Failure{What: m.name + " was not computed", Next: []string{kit.Path("calc %s --help", m.name)}}.Explain(err)
	}
	c, err := o.Factory.Conn(ctx)
	if err != nil {
		return err
	}
	a, err := conn.Expect[json.RawMessage](m.post(ctx, c.API, bytes.NewReader(body)))
	if err != nil {
		return kit.Failure{What: m.name + " was not computed", Next: []string{kit.Path("calc %s --help", m.name)}}.Explain(err)
	}
	return kit.Show(o.Factory, a, func(raw json.RawMessage) error { return printResult(o.Factory.Term, body, raw) })
}
