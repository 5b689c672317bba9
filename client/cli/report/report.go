// Package report holds the reports: stock, buying, consumption, how long rolls
// last and the scores of forecasts.
package report

import (
	"context"

	"github.com/spf13/cobra"

	"barrelbook/client/cli/kit"
	"barrelbook/client/conn"
	"barrelbook/client/render"
)

// NewCmd gathers the reports.
func NewCmd(f *kit.Factory) *cobra.Command {
	return kit.Noun("report", "Stock, what to buy, what rolls cost, how long they last, and how forecasts did",
		NewCmdStock(f, nil), NewCmdScrap(f, nil), NewCmdBuying(f, nil), NewCmdConsumption(f, nil), NewCmdPopulations(f, nil), NewCmdScores(f, nil))
}

// Asked is what every report can be asked for.
type Asked struct {
	Factory *kit.Factory
	CSV     bool
}

// command makes a report's command around its flags.
func command[O any](cmd *cobra.Command, asked *Asked, o *O, run, runF func(context.Context, *O) error) *cobra.Command {
	cmd.Args = kit.Args()
	cmd.RunE = func(cmd *cobra.Command, _ []string) error {
		if runF != nil {
			return runF(cmd.Context(), o)
		}
		return run(cmd.Context(), o)
	}
	cmd.Flags().BoolVar(&asked.CSV, "csv", false, "comma-separated, for a spreadsheet")
	return cmd
}

// show prints a report: the service's own answer, rows for a spreadsheet, or
// tables with what there is to say about them.
func show[T any](asked *Asked, a conn.Answer[T], rows *render.Table, people func() error) error {
	return kit.Show(asked.Factory, a, func(T) error {
		if asked.CSV {
			return rows.CSV(asked.Factory.Term.Data())
		}
		return people()
	})
}
