// Package demo shows the three answers to a stranger: on a throwaway service,
// with an invented works loaded through the API.
package demo

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"io"
	"os"
	"runtime/debug"
	"time"

	"github.com/schollz/progressbar/v3"
	"github.com/spf13/cobra"

	"barrelbook/client/cli/campaign"
	"barrelbook/client/cli/change"
	"barrelbook/client/cli/kit"
	"barrelbook/client/cli/regrind"
	"barrelbook/client/conn"
	"barrelbook/client/oapi"
	"barrelbook/client/term"
	"barrelbook/testdata/demo"
)

// Options choose the demo.
type Options struct {
	Factory   *kit.Factory
	Mill      string
	ListMills bool
	Keep      string
}

// NewCmd runs the demo.
func NewCmd(f *kit.Factory) *cobra.Command { return newCmd(f, nil) }

func newCmd(f *kit.Factory, runF func(context.Context, *Options) error) *cobra.Command {
	o := &Options{Factory: f}
	cmd := &cobra.Command{
		Use:   "demo",
		Short: "See the three answers on an invented works, in books of its own",
		Long: `See the three answers on an invented works. It is loaded through the API into
books of its own, which are thrown away unless --keep names a file for them;
your own books are not touched.`,
		Example: kit.Example("barrelbook demo", "barrelbook demo --mill cold-tandem", "barrelbook demo --keep demo.db", "barrelbook demo --list-mills"),
		Args:    kit.Args(),
		RunE: func(cmd *cobra.Command, _ []string) error {
			if runF != nil {
				return runF(cmd.Context(), o)
			}
			return run(cmd.Context(), o)
		},
	}
	cmd.Flags().StringVar(&o.Mill, "mill", demo.DefaultMill, "the `MILL` to show")
	cmd.Flags().BoolVar(&o.ListMills, "list-mills", false, "print the names of the mills, one a line")
	cmd.Flags().StringVar(&o.Keep, "keep", "", "keep the books in this new `FILE`")
	return cmd
}

// answers are the three, in the order in which they are asked.
type answers struct {
	Regrind     conn.Answer[oapi.RegrindAnswer]
	ChangePlan  conn.Answer[oapi.ChangePlan]
	FinishCheck conn.Answer[oapi.FinishCheck]
}

func run(ctx context.Context, o *Options) (err error) {
	f := o.Factory
	if o.ListMills {
		for _, name := range demo.Mills() {
			f.Term.Print("%s", name)
		}
		return nil
	}
	if o.Keep != "" && kit.DataExists(o.Keep) {
		return kit.Usagef("%s is there already: name a new file, so that nothing of yours is written over", o.Keep)
	}
	c, done, err := f.Throwaway(ctx, o.Keep)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, done()) }()
	ahead, err := load(ctx, f, c, o.Mill)
	if err != nil {
		if o.Keep != "" { // a half-loaded works would mislead
			err = errors.Join(err, os.Remove(o.Keep))
		}
		if ctx.Err() != nil {
			return &kit.Interrupted{Kept: "nothing is kept of the demo."}
		}
		return err
	}
	a, err := ask(ctx, c, ahead)
	if err != nil {
		return err
	}
	if f.JSON {
		return printJSON(f, a)
	}
	return show(f, o, ahead, a)
}

// load puts the demo works into the books.
func load(ctx context.Context, f *kit.Factory, c *conn.Conn, mill string) (demo.Ahead, error) {
	// Years of books in seconds make much garbage that dies at once; it is
	// collected more rarely meanwhile, for some 100 MB of memory.
	defer debug.SetGCPercent(debug.SetGCPercent(400))
	options := demo.Options{Mill: mill, Now: f.Now()}
	f.Term.Say("Loading the demo works %s …", mill)
	if f.Term.ErrIsTTY() && !f.Term.Quiet {
		var bar *progressbar.ProgressBar
		options.Progress = func(done, all int) {
			if bar == nil {
				bar = progressbar.NewOptions(all, progressbar.OptionSetWriter(f.Term.Err), progressbar.OptionSetDescription("loading"),
					progressbar.OptionClearOnFinish(), progressbar.OptionThrottle(100*time.Millisecond))
			}
			bar.Set(done)
		}
	}
	return demo.Load(ctx, func(ctx context.Context, r demo.Request) (int, string, []byte, error) {
		if r.ContentType == "application/x-ndjson" {
			ctx = conn.Streaming(ctx)
		}
		resp, err := c.Send(ctx, conn.Request{Method: r.Method, Path: r.Path, ContentType: r.ContentType, IfMatch: r.IfMatch, Body: bytes.NewReader(r.Body)})
		if err != nil {
			return 0, "", nil, err
		}
		defer resp.Body.Close()
		answer, err := io.ReadAll(resp.Body)
		return resp.StatusCode, resp.Header.Get("ETag"), answer, err
	}, options)
}

// ask asks the three questions as the commands do.
func ask(ctx context.Context, c *conn.Conn, ahead demo.Ahead) (a answers, err error) {
	key := conn.NewKey()
	if a.Regrind, err = conn.Expect[oapi.RegrindAnswer](c.API.RecordRegrindWithBody(ctx, ahead.Roll,
		&oapi.RecordRegrindParams{IdempotencyKey: &key}, "application/json", bytes.NewReader(ahead.Regrind))); err != nil {
		return a, kit.Failure{What: "the regrind of " + ahead.Roll + " was not recorded"}.Explain(err)
	}
	if a.ChangePlan, err = conn.Expect[oapi.ChangePlan](c.API.PlanChanges(ctx, oapi.ChangePlanInput{Campaign: ahead.Campaign})); err != nil {
		return a, kit.Failure{What: "there is no plan for " + ahead.Campaign}.Explain(err)
	}
	if a.FinishCheck, err = conn.Expect[oapi.FinishCheck](c.API.CheckFinish(ctx, ahead.Campaign, oapi.FinishCheckInput{})); err != nil {
		return a, kit.Failure{What: "campaign " + ahead.Campaign + " could not be checked"}.Explain(err)
	}
	return a, nil
}

// printJSON prints one object with the three answers as the service gave them.
func printJSON(f *kit.Factory, a answers) error {
	raw, err := json.Marshal(struct {
		Regrind     json.RawMessage `json:"regrind"`
		ChangePlan  json.RawMessage `json:"change_plan"`
		FinishCheck json.RawMessage `json:"finish_check"`
	}{a.Regrind.Raw, a.ChangePlan.Raw, a.FinishCheck.Raw})
	if err != nil {
		return err
	}
	return kit.Raw(f, raw)
}

func show(f *kit.Factory, o *Options, ahead demo.Ahead, a answers) error {
	u, err := f.Units()
	if err != nil {
		return err
	}
	t := f.Term
	var grind oapi.RegrindInput
	if err := json.Unmarshal(ahead.Regrind, &grind); err != nil {
		return err
	}
	question(t, 1, "Record a regrind.")
	regrind.Print(t, u, a.Regrind.Value)
	question(t, 2, "Plan the next roll changes.")
	change.PrintPlan(t, u, a.ChangePlan.Value)
	question(t, 3, "Can the sets in the stands finish the campaign?")
	campaign.PrintCheck(t, u, a.FinishCheck.Value, false)
	howTo(t, o, ahead, grind)
	return nil
}

func question(t *term.Streams, n int, text string) {
	t.Print("\n%s\n", t.Bold("── "+string(rune('0'+n))+". "+text+" ──"))
}

// howTo says what to type to ask the same oneself.
func howTo(t *term.Streams, o *Options, ahead demo.Ahead, g oapi.RegrindInput) {
	t.Print("\n%s\n", t.Bold("── Ask yourself ──"))
	data := o.Keep
	if data == "" {
		data = "demo.db"
		t.Print("  barrelbook demo --mill %s --keep %s      # these books were thrown away; this keeps them", o.Mill, data)
	}
	t.Print("  export BARRELBOOK_DATA=%s", data)
	t.Print("  barrelbook roll book %s --all", ahead.Roll)
	t.Print("  barrelbook regrind advise %s", ahead.Roll)
	t.Print("  barrelbook regrind record ROLL --found %.3f --ground %.3f --for %s --dry-run      # without tests and measures: not released", g.FoundMm, g.GroundMm, g.Purpose)
	t.Print("  barrelbook change plan %s", ahead.Campaign)
	t.Print("  barrelbook campaign check %s --explain", ahead.Campaign)
}
