package roll

import (
	"context"
	"errors"
	"fmt"
	"regexp"
	"slices"
	"strconv"

	"github.com/spf13/cobra"

	"barrelbook/client/cli/kit"
	"barrelbook/client/conn"
	"barrelbook/client/oapi"
	"barrelbook/client/render"
)

// NewCmdReadings gathers what is done with files of readings.
func NewCmdReadings(f *kit.Factory) *cobra.Command {
	return kit.Noun("readings", "Import what instruments read on a barrel", NewCmdImportReadings(f, nil))
}

// ImportReadingsOptions choose the roll and the file.
type ImportReadingsOptions struct {
	Factory *kit.Factory
	kit.Recording
	kit.Instrument
	Number string
	File   string
	Note   string
}

// NewCmdImportReadings records an inspection out of a file of readings.
func NewCmdImportReadings(f *kit.Factory, runF func(context.Context, *ImportReadingsOptions) error) *cobra.Command {
	o := &ImportReadingsOptions{Factory: f}
	cmd := &cobra.Command{
		Use:   "import NUMBER FILE|-",
		Short: "Record an inspection out of a CSV file of readings",
		Long: `Record an inspection out of a CSV file of readings. The first line names the
columns, in any order, each with its unit:

  test         eddy_current, ultrasonic, hardness and so on
  at_mm        along the barrel from its drive-side end (or at_in)
  value        in the instrument's own scale; Shore C of hardness
  depth_um     on radius, where the method gives one (or depth_mm, depth_in)
  indication   crack, bruise, reflector, bond or hardness
  around_deg   from the roll's mark
  threshold    highest value allowed; the practice's holds where it is lower
  file         name of a picture

test, at and one of value and depth must be there. The readings decide: a test
with one above its threshold is failed. A bad line is named on the error stream
and the others are kept; a test that lost a line is not passed but unknown, and
the command ends with exit code 8.`,
		Example: kit.Example("barrelbook roll readings import R1234 scan.csv --instrument ET-2 --calibration-piece C-7 --calibrated 2026-03-04 --operator \"shift 2\""),
		Args:    kit.Args("NUMBER", "FILE"),
		RunE: func(cmd *cobra.Command, args []string) error {
			o.Number, o.File = args[0], args[1]
			if runF != nil {
				return runF(cmd.Context(), o)
			}
			return importReadings(cmd.Context(), o)
		},
	}
	o.Instrument.AddTo(cmd)
	cmd.Flags().StringVar(&o.Note, "note", "", "a remark")
	o.Recording.AddTo(cmd, true)
	return cmd
}

func importReadings(ctx context.Context, o *ImportReadingsOptions) error {
	what := "the readings of " + o.Number + " were not recorded"
	at, err := o.Moment(o.Factory)
	if err != nil {
		return err
	}
	text, err := kit.ReadInput(o.Factory, o.File, "readings")
	if err != nil {
		return kit.Failure{What: what}.Explain(err)
	}
	file, err := readingsFromCSV(text)
	if err != nil {
		return kit.Failure{What: what, Next: []string{kit.Path("roll readings import --help")}}.Explain(&kit.Input{Err: err})
	}
	c, err := o.Factory.Conn(ctx)
	if err != nil {
		return err
	}
	a, err := o.send(ctx, c, file, oapi.InspectionInput{At: at, Note: kit.OptText(o.Note)})
	slices.SortFunc(file.bad, func(a, b badLine) int { return a.line - b.line })
	for _, bad := range file.bad {
		o.Factory.Term.Tell("line %d: %s", bad.line, bad.why)
	}
	if err != nil {
		return failed(what, o.Number, map[string]string{"note": "--note", "at": "--at"}, err)
	}
	done := fmt.Sprintf("%s recorded in the book of %s.", render.Count(int64(len(file.good)), "reading"), o.Number)
	if err := shown(o.Factory, a, &o.Recording, done); err != nil {
		return err
	}
	if len(file.bad) > 0 {
		return &kit.Partial{Done: int64(len(file.good)), Refused: int64(len(file.bad))}
	}
	return nil
}

// rounds is how often readings that the service refuses are dropped and the
// rest sent again: once for what the contract refuses, once for what the roll
// does, and once for good.
const rounds = 3

// send records what is good of the file. A reading that the service refuses
// becomes a bad line.
func (o *ImportReadingsOptions) send(ctx context.Context, c *conn.Conn, file *readingFile, in oapi.InspectionInput) (a conn.Answer[oapi.Roll], err error) {
	dry, key := o.Params()
	for range rounds {
		if len(file.good) == 0 {
			return a, &kit.Input{Err: errors.New("there is no good line in the file")}
		}
		var lines [][]int
		in.Tests, lines = file.tests()
		if err := o.Instrument.Into(o.Factory, in.Tests); err != nil {
			return a, err
		}
		a, err = conn.Expect[oapi.Roll](c.API.RecordInspection(ctx, o.Number, &oapi.RecordInspectionParams{DryRun: dry, IdempotencyKey: key}, in))
		if err == nil || !file.drop(err, lines) {
			return a, err
		}
	}
	return a, err
}

var readingPointer = regexp.MustCompile(`tests/(\d+)/readings/(\d+)(?:/(\w+))?`)

// drop takes out the lines that the service refused, and says whether that is all
// that it refused.
func (f *readingFile) drop(err error, lines [][]int) bool {
	var p *conn.Problem
	if !errors.As(err, &p) || p.Errors == nil {
		return false
	}
	refused := map[int]string{}
	for _, e := range *p.Errors {
		m := readingPointer.FindStringSubmatch(e.Pointer)
		if m == nil {
			return false
		}
		test, _ := strconv.Atoi(m[1])
		reading, _ := strconv.Atoi(m[2])
		if test >= len(lines) || reading >= len(lines[test]) {
			return false
		}
		line, why := lines[test][reading], e.Detail
		if m[3] != "" {
			why = m[3] + ": " + why
		}
		if refused[line] != "" {
			why = refused[line] + "; " + why
		}
		refused[line] = why
	}
	var good []readingLine
	for _, g := range f.good {
		if why, is := refused[g.line]; is {
			f.refuse(g.line, string(g.test), why)
			continue
		}
		good = append(good, g)
	}
	f.good = good
	return len(refused) > 0
}
