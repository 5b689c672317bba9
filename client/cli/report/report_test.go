package report

import (
	"net/url"
	"strings"
	"testing"

	"github.com/spf13/cobra"

	"barrelbook/client/cli/kit"
	"barrelbook/client/cli/kit/kittest"
)

// Each report as a table, for a spreadsheet and as the service gave it.
func TestReportsAreGolden(t *testing.T) {
	for name, make := range map[string]func(*kit.Factory) *cobra.Command{
		"stock":       func(f *kit.Factory) *cobra.Command { return NewCmdStock(f, nil) },
		"scrap":       func(f *kit.Factory) *cobra.Command { return NewCmdScrap(f, nil) },
		"consumption": func(f *kit.Factory) *cobra.Command { return NewCmdConsumption(f, nil) },
		"buying":      func(f *kit.Factory) *cobra.Command { return NewCmdBuying(f, nil) },
		"scores":      func(f *kit.Factory) *cobra.Command { return NewCmdScores(f, nil) },
		"populations": func(f *kit.Factory) *cobra.Command { return NewCmdPopulations(f, nil) },
	} {
		answer := kittest.Fixture(t, name+".json")
		path := "GET /v1/reports/" + name
		if name == "scrap" {
			path = "GET /v1/forecasts"
		}
		run := func(line string) string {
			w := kittest.New(t, &kittest.Answers{T: t, Canned: map[string]string{path: answer}}, "")
			w.Factory.JSON = line == "json"
			if err := kittest.Run(t, make(w.Factory), strings.Replace(line, "json", "--csv=false", 1)); err != nil {
				t.Fatal(err)
			}
			return w.Out.String()
		}
		kittest.Golden(t, name+".txt", run("--csv=false"))
		kittest.Golden(t, name+".csv", run("--csv"))
		if got := run("json"); strings.TrimSpace(got) != strings.TrimSpace(answer) {
			t.Errorf("%s: --json is not what the service said:\n%s", name, got)
		}
	}
}

func TestReportsAskForWhatWasTyped(t *testing.T) {
	for _, c := range []struct {
		name, line, want string
		make             func(*kit.Factory) *cobra.Command
	}{
		{"stock", "--mill hot", "mill=hot", func(f *kit.Factory) *cobra.Command { return NewCmdStock(f, nil) }},
		{"scrap", "--mill hot --stand F1 --grade hss --sort order_by --limit 20", "mill=hot&stand=F1&grade=hss&sort=order_by&limit=20", func(f *kit.Factory) *cobra.Command { return NewCmdScrap(f, nil) }},
		{"consumption", "--by month --from 2026-01-01 --until 2026-02-01", "by=month&from=2026-01-01T00:00:00Z&until=2026-02-01T00:00:00Z", func(f *kit.Factory) *cobra.Command { return NewCmdConsumption(f, nil) }},
		{"buying", "--months 24 --tonnage 250000 --needed 12", "months=24&needed_rolls=12&tonnage_per_month_t=250000", func(f *kit.Factory) *cobra.Command { return NewCmdBuying(f, nil) }},
		{"populations", "--by supplier --age km --mill hot", "by=supplier&age=km&mill=hot", func(f *kit.Factory) *cobra.Command { return NewCmdPopulations(f, nil) }},
		{"scores", "--grade hss --stand F1 --from 2026-01-01", "from=2026-01-01T00:00:00Z&grade=hss&stand=F1", func(f *kit.Factory) *cobra.Command { return NewCmdScores(f, nil) }},
	} {
		answers := &kittest.Answers{T: t, Canned: map[string]string{"GET /v1/reports/" + c.name: kittest.Fixture(t, c.name+".json"), "GET /v1/forecasts": kittest.Fixture(t, "scrap.json")}}
		w := kittest.New(t, answers, "")
		if err := kittest.Run(t, c.make(w.Factory), c.line); err != nil {
			t.Fatal(err)
		}
		asked, err := url.ParseQuery(answers.Queries[0])
		want, _ := url.ParseQuery(c.want)
		if err != nil || asked.Encode() != want.Encode() {
			t.Errorf("%s: asked %s, want %s", c.name, asked.Encode(), want.Encode())
		}
	}
}

// The steps of the curve stand below the table, and alone for a spreadsheet.
func TestStepsOfPopulations(t *testing.T) {
	for line, golden := range map[string]string{"--steps": "populations_steps.txt", "--steps --csv": "populations_steps.csv"} {
		w := kittest.New(t, &kittest.Answers{T: t, Canned: map[string]string{"GET /v1/reports/populations": kittest.Fixture(t, "populations.json")}}, "")
		if err := kittest.Run(t, NewCmdPopulations(w.Factory, nil), line); err != nil {
			t.Fatal(err)
		}
		kittest.Golden(t, golden, w.Out.String())
	}
}

func TestReportsRefuse(t *testing.T) {
	f := kittest.New(t, nil, "").Factory
	for line, wrong := range map[string]string{"--by colour": "must be one of", "--from someday": "--from", "more": "unexpected argument"} {
		if err := kittest.Run(t, NewCmdConsumption(f, nil), line); err == nil || !strings.Contains(err.Error(), wrong) {
			t.Errorf("%q: got %v, want %q", line, err, wrong)
		}
	}
}
