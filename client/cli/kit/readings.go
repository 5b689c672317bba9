package kit

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"barrelbook/client/oapi"
)

// Instrument is the flags that say what readings rest on.
type Instrument struct {
	Instrument, Piece, CalibratedAt, Operator string
}

// AddTo adds the flags.
func (i *Instrument) AddTo(cmd *cobra.Command) {
	cmd.Flags().StringVar(&i.Instrument, "instrument", "", "the instrument that read")
	cmd.Flags().StringVar(&i.Piece, "calibration-piece", "", "the piece that it was set on")
	cmd.Flags().StringVar(&i.CalibratedAt, "calibrated", "", "when it was set on the piece (`TIME`)")
	cmd.Flags().StringVar(&i.Operator, "operator", "", "who read it")
}

// Into writes them into each test that has readings.
func (i *Instrument) Into(f *Factory, tests []oapi.TestResult) error {
	var at *time.Time
	var err error
	if at, err = OptTime(f, "--calibrated", i.CalibratedAt); err != nil {
		return err
	}
	for k := range tests {
		if t := &tests[k]; t.Readings != nil {
			t.Instrument, t.CalibrationPiece, t.CalibratedAt, t.Operator = OptText(i.Instrument), OptText(i.Piece), at, OptText(i.Operator)
		}
	}
	return nil
}

// ReadingFlag adds --reading, which may be given again for each reading.
func ReadingFlag(cmd *cobra.Command, target *[]string) {
	cmd.Flags().StringArrayVar(target, "reading", nil,
		"a reading of a test and its place, again for each (`READING`: eddy_current:bruise:at=812:around=140:value=1.4, ultrasonic:reflector:at=640:depth=3mm). Without a --test of its kind the readings decide")
}

// Readings adds the readings to the tests of their kind. One without such a test
// makes a test whose readings decide.
func (e *Entry) Readings(tests []oapi.TestResult, texts []string) ([]oapi.TestResult, error) {
	for _, text := range texts {
		kind, reading, err := e.reading(text)
		if err != nil {
			return nil, err
		}
		tests = AddReading(tests, kind, reading)
	}
	return tests, nil
}

// AddReading lays a reading to the last test of its kind, or begins one.
func AddReading(tests []oapi.TestResult, kind oapi.TestKind, r oapi.Reading) []oapi.TestResult {
	for i := len(tests) - 1; i >= 0; i-- {
		if t := &tests[i]; t.Test == kind {
			if t.Readings == nil {
				t.Readings = &[]oapi.Reading{}
			}
			*t.Readings = append(*t.Readings, r)
			return tests
		}
	}
	return append(tests, oapi.TestResult{Test: kind, Readings: &[]oapi.Reading{r}})
}

func (e *Entry) reading(text string) (kind oapi.TestKind, r oapi.Reading, err error) {
	parts := strings.Split(text, ":")
	if kind, err = TestKindOf(parts[0]); err != nil {
		return kind, r, badReading(text, err.Error())
	}
	given := []string{}
	for i, part := range parts[1:] {
		name, value, is := strings.Cut(part, "=")
		if !is && i == 0 {
			indication := oapi.Indication(strings.ToLower(part))
			if r.Indication = &indication; !indication.Valid() {
				return kind, r, badReading(text, fmt.Sprintf("%q is none of crack, bruise, reflector, bond and hardness", part))
			}
			continue
		}
		if slices.Contains(given, name) {
			return kind, r, badReading(text, name+" is there twice")
		}
		given = append(given, name)
		if err := e.readingPart(&r, name, value); err != nil {
			return kind, r, badReading(text, err.Error())
		}
	}
	if !slices.Contains(given, "at") {
		return kind, r, badReading(text, "it does not say where along the barrel: at=PLACE from the drive-side end")
	}
	if r.Value == nil && r.DepthUm == nil {
		return kind, r, badReading(text, "it has neither value=NUMBER nor depth=DEPTH")
	}
	return kind, r, nil
}

func (e *Entry) readingPart(r *oapi.Reading, name, value string) error {
	number := func() (*float64, error) {
		var n OptNumber
		err := n.Set(value)
		return n.Value, err
	}
	var err error
	switch name {
	case "at":
		r.AtMm = e.Length("--reading at", value)
	case "around":
		r.AroundDeg, err = number()
	case "value":
		r.Value, err = number()
	case "threshold":
		r.Threshold, err = number()
	case "depth":
		r.DepthUm = e.OptCrack("--reading depth", value)
	case "file":
		r.File = OptText(value)
	default:
		return fmt.Errorf("%q is none of at, around, value, threshold, depth and file", name)
	}
	return err
}

// TestKindOf reads the name of a test.
func TestKindOf(text string) (oapi.TestKind, error) {
	kind := oapi.TestKind(strings.ReplaceAll(strings.ToLower(strings.TrimSpace(text)), "-", "_"))
	if !kind.Valid() {
		return kind, fmt.Errorf("%q is not a known test (%s)%s", text, strings.Join(kindNames(), ", "), DidYouMean(string(kind), kindNames()))
	}
	return kind, nil
}

func badReading(text, why string) error {
	return &UsageError{Err: fmt.Errorf("--reading %q: %s; write it like eddy_current:bruise:at=812:around=140:value=1.4", text, why)}
}
