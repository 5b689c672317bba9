package piece

import (
	"bufio"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net/http"

	"github.com/spf13/cobra"

	"barrelbook/client/cli/kit"
	"barrelbook/client/conn"
	"barrelbook/client/oapi"
	"barrelbook/client/render"
)

// ImportOptions choose the file.
type ImportOptions struct {
	Factory *kit.Factory
	File    string
}

// NewCmdImport streams pieces to the service.
func NewCmdImport(f *kit.Factory, runF func(context.Context, *ImportOptions) error) *cobra.Command {
	o := &ImportOptions{Factory: f}
	return &cobra.Command{
		Use:   "import FILE|-",
		Short: "Import rolled pieces, one JSON object a line",
		Long: `Import rolled pieces, one JSON object a line (PieceInput of the API):

  {"source": "level2", "id": "P1", "mill": "HSM", "rolled_at": "2026-03-04T14:05:00Z",
   "mass_t": 18.2, "width_mm": 1250, "entry_thickness_mm": 32,
   "passes": [{"stand": "F1", "exit_thickness_mm": 18.4, "force_kn": 17800}]}

A bad line is named on the error stream and the others are kept; the command
then ends with exit code 8. A piece sent again is harmless: its source and id
are kept once. With --json the summary is printed as the service gives it.`,
		Example: kit.Example("barrelbook piece import pieces.ndjson", "zcat pieces.ndjson.gz | barrelbook piece import -"),
		Args:    kit.Args("[FILE]"),
		RunE: func(cmd *cobra.Command, args []string) error {
			o.File = kit.Arg(args, 0)
			if runF != nil {
				return runF(cmd.Context(), o)
			}
			return importPieces(cmd.Context(), o)
		},
	}
}

func importPieces(ctx context.Context, o *ImportOptions) error {
	const what = "the pieces were not imported"
	in, err := kit.OpenInput(o.Factory, o.File, "pieces")
	if err != nil {
		return kit.Failure{What: what}.Explain(err)
	}
	defer in.Close()
	lines, err := kit.JSONOf(in, o.File)
	if err != nil {
		return kit.Failure{What: what, Next: []string{kit.Path("piece import --help")}}.Explain(err)
	}
	c, err := o.Factory.Conn(ctx)
	if err != nil {
		return err
	}
	bar := newProgress(o.Factory.Term, in)
	defer bar.done()
	resp, err := c.API.ImportPiecesWithBody(conn.Streaming(ctx), "application/x-ndjson", bar.reader(lines), wantsLines)
	if err != nil {
		return kit.Failure{What: what}.Explain(err)
	}
	defer resp.Body.Close()
	if err := conn.Refusal(resp); err != nil {
		return kit.Failure{What: what, Next: []string{kit.Path("piece import --help")}}.Explain(err)
	}
	defer context.AfterFunc(ctx, func() { resp.Body.Close() })()
	kept := int64(0)
	summary, raw, err := readAnswers(resp.Body, func(a oapi.PieceLineAnswer) {
		switch {
		case a.Status != oapi.PieceLineAnswerStatusRefused && a.Status != oapi.PieceLineAnswerStatusFailed:
			kept++
		case ctx.Err() == nil: // what is given up is not refused
			bar.clear()
			refusedLine(o.Factory, a)
		}
	})
	bar.done()
	if ctx.Err() != nil {
		return &kit.Interrupted{Kept: render.Count(kept, "piece") + " and perhaps some more are kept; sending the whole file again is harmless."}
	}
	if err != nil {
		return kit.Failure{What: "the import broke off; lines before that may be kept, and sending the file again is harmless"}.Explain(err)
	}
	if o.Factory.JSON {
		if err := kit.Raw(o.Factory, raw); err != nil {
			return err
		}
	} else {
		printSummary(o.Factory, summary)
	}
	if not := summary.RefusedCount + summary.FailedCount; not > 0 {
		return &kit.Partial{Done: summary.LineCount - not, Refused: not}
	}
	return nil
}

func wantsLines(_ context.Context, req *http.Request) error {
	req.Header.Set("Accept", "application/x-ndjson, application/problem+json")
	return nil
}

// readAnswers reads an answer for each line and the summary after the last,
// without which the stream was cut.
func readAnswers(r io.Reader, answered func(oapi.PieceLineAnswer)) (summary oapi.PieceImportSummary, raw []byte, err error) {
	lines := bufio.NewReader(r)
	for {
		line, err := lines.ReadBytes('\n')
		if len(line) > 0 {
			var answer oapi.PieceLineAnswer
			if bad := json.Unmarshal(line, &answer); bad != nil {
				return summary, nil, &conn.NotOurs{Status: http.StatusOK, Err: bad}
			}
			if answer.Status == "" {
				return summary, line, json.Unmarshal(line, &summary)
			}
			answered(answer)
		}
		if errors.Is(err, io.EOF) {
			return summary, nil, &conn.Unreachable{Err: errors.New("the service ended its answer without a summary")}
		}
		if err != nil {
			return summary, nil, &conn.Unreachable{Err: err}
		}
	}
}

// refusedLine says which line was refused and why, by field. It is not talk
// that --quiet may drop: without it the line is lost.
func refusedLine(f *kit.Factory, a oapi.PieceLineAnswer) {
	where := fmt.Sprintf("line %d", a.Line)
	if a.Id != nil && *a.Id != "" {
		where += ", piece " + *a.Id
	}
	problem := oapi.Problem{Title: "refused"}
	if a.Problem != nil {
		problem = *a.Problem
	}
	for _, reason := range (&kit.Failure{Err: &conn.Problem{Problem: problem}}).Lines() {
		f.Term.Tell("%s: %s", where, reason)
	}
}

func printSummary(f *kit.Factory, s oapi.PieceImportSummary) {
	render.Bullets(f.Term, "Warnings:", render.Opt(s.Warnings))
	f.Term.Print("%s: %d stored, %d kept already, %d refused.", render.Count(s.LineCount, "line"), s.StoredCount, s.DuplicateCount, s.RefusedCount)
	if s.FailedCount > 0 {
		f.Term.Print("%s could not be stored by the service: send the file again.", render.Count(s.FailedCount, "piece"))
	}
}
