package roll

import (
	"bytes"
	"context"
	"encoding/csv"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"barrelbook/client/cli/kit"
	"barrelbook/client/conn"
	"barrelbook/client/oapi"
	"barrelbook/client/render"
)

// CarryOverOptions choose the file.
type CarryOverOptions struct {
	Factory *kit.Factory
	kit.Recording
	File string
}

// NewCmdCarryOver carries the lines of roll cards over into the books.
func NewCmdCarryOver(f *kit.Factory, runF func(context.Context, *CarryOverOptions) error) *cobra.Command {
	o := &CarryOverOptions{Factory: f}
	cmd := &cobra.Command{
		Use:   "carry-over FILE|-",
		Short: "Carry over from roll cards what rolls did before their books were kept",
		Long: `Carry over from roll cards what rolls did before their books were kept: one line
for each stay in a stand, with its totals and the regrind that followed it. The
file is CSV with these headings, those from why on where there are any:

  roll,stand,position,mounted_at,withdrawn_at,tonnage_t,why,piece_count,
  rolled_km,specific_force_kn_per_mm,ground_at,found_mm,ground_mm,purpose,
  groove_worn_um

or one JSON object a line (PastStayInput of the API), which can also say what was
measured and tested. Receive each roll first, at the diameter it had before the
first line, with --new for what it once was. All lines are kept or none; a line
whose stay is in the book already is passed over.`,
		Example: kit.Example("barrelbook roll carry-over cards.csv --dry-run", "barrelbook roll carry-over cards.csv"),
		Args:    kit.Args("[FILE]"),
		RunE: func(cmd *cobra.Command, args []string) error {
			o.File = kit.Arg(args, 0)
			if runF != nil {
				return runF(cmd.Context(), o)
			}
			return carryOver(cmd.Context(), o)
		},
	}
	o.Recording.AddTo(cmd, false)
	return cmd
}

func carryOver(ctx context.Context, o *CarryOverOptions) error {
	const what = "nothing was carried over"
	text, err := kit.ReadInput(o.Factory, o.File, "lines of roll cards")
	if err != nil {
		return kit.Failure{What: what}.Explain(err)
	}
	stays, err := pastStays(text)
	if err != nil {
		return kit.Failure{What: what}.Explain(&kit.Input{Err: err})
	}
	c, err := o.Factory.Conn(ctx)
	if err != nil {
		return err
	}
	dry, key := o.Params()
	a, err := conn.Expect[oapi.PastStaysAnswer](c.API.RecordPastStays(ctx, &oapi.RecordPastStaysParams{DryRun: dry, IdempotencyKey: key}, oapi.PastStaysInput{Stays: stays}))
	if err != nil {
		return kit.Failure{What: what, Next: []string{kit.Path("roll carry-over --help")}}.Explain(err)
	}
	return kit.Show(o.Factory, a, func(w oapi.PastStaysAnswer) error {
		o.Factory.Term.Print("%s and %s of %s carried over, %d in the books already.", render.Count(w.StayCount, "stay"), render.Count(w.RegrindCount, "regrind"), render.Count(w.RollCount, "roll"), w.KnownCount)
		o.Recording.Noted(o.Factory, "See a book: %s", kit.Path("roll book NUMBER"))
		return nil
	})
}

// pastStays reads the lines, CSV or JSON.
func pastStays(text []byte) ([]oapi.PastStayInput, error) {
	text = bytes.TrimSpace(bytes.TrimPrefix(text, []byte("\ufeff"))) // some spreadsheets begin with it
	if !bytes.HasPrefix(text, []byte("{")) {
		return pastStaysFromCSV(text)
	}
	var stays []oapi.PastStayInput
	for n, line := range bytes.Split(text, []byte("\n")) {
		if len(bytes.TrimSpace(line)) == 0 {
			continue
		}
		var stay oapi.PastStayInput
		in := json.NewDecoder(bytes.NewReader(line))
		in.DisallowUnknownFields()
		if err := in.Decode(&stay); err != nil {
			return nil, fmt.Errorf("line %d: %w", n+1, err)
		}
		stays = append(stays, stay)
	}
	return stays, nil
}

// cardColumns are the headings of a file of cards, and what a cell of each fills.
var cardColumns = map[string]func(*oapi.PastStayInput, string) error{
	"roll":  func(s *oapi.PastStayInput, cell string) error { s.Roll = cell; return nil },
	"stand": func(s *oapi.PastStayInput, cell string) error { s.Stand = cell; return nil },
	"position": func(s *oapi.PastStayInput, cell string) error {
		s.Position = oapi.Position(strings.ReplaceAll(cell, " ", "_"))
		return nil
	},
	"why": func(s *oapi.PastStayInput, cell string) error {
		why := oapi.WithdrawalWhy(cell)
		s.Why = &why
		return nil
	},
	"piece_count": func(s *oapi.PastStayInput, cell string) error {
		n, err := strconv.ParseInt(cell, 10, 64)
		s.PieceCount = &n
		return err
	},
	"tonnage_t":                cardNumber(func(s *oapi.PastStayInput, v float64) { s.TonnageT = v }),
	"rolled_km":                cardNumber(func(s *oapi.PastStayInput, v float64) { s.RolledKm = &v }),
	"specific_force_kn_per_mm": cardNumber(func(s *oapi.PastStayInput, v float64) { s.SpecificForceKnPerMm = &v }),
	"mounted_at": func(s *oapi.PastStayInput, cell string) (err error) {
		s.MountedAt, err = kit.FileTime("mounted_at", cell)
		return err
	},
	"withdrawn_at": func(s *oapi.PastStayInput, cell string) (err error) {
		s.WithdrawnAt, err = kit.FileTime("withdrawn_at", cell)
		return err
	},
	"ground_at": func(s *oapi.PastStayInput, cell string) error {
		at, err := kit.FileTime("ground_at", cell)
		regrindOf(s).At = &at
		return err
	},
	"purpose": func(s *oapi.PastStayInput, cell string) error {
		regrindOf(s).Purpose = oapi.RegrindPurpose(cell)
		return nil
	},
	"found_mm":       cardNumber(func(s *oapi.PastStayInput, v float64) { regrindOf(s).FoundMm = v }),
	"ground_mm":      cardNumber(func(s *oapi.PastStayInput, v float64) { regrindOf(s).GroundMm = v }),
	"groove_worn_um": cardNumber(func(s *oapi.PastStayInput, v float64) { regrindOf(s).GrooveWornUm = &v }),
}

func regrindOf(s *oapi.PastStayInput) *oapi.RegrindInput {
	if s.Regrind == nil {
		s.Regrind = &oapi.RegrindInput{Purpose: oapi.RegrindPurposeWear}
	}
	return s.Regrind
}

func cardNumber(set func(*oapi.PastStayInput, float64)) func(*oapi.PastStayInput, string) error {
	return func(s *oapi.PastStayInput, cell string) error {
		v, err := strconv.ParseFloat(cell, 64)
		if err != nil {
			return fmt.Errorf("%q is not a number; write a decimal point and nothing between thousands", cell)
		}
		set(s, v)
		return nil
	}
}

func pastStaysFromCSV(text []byte) ([]oapi.PastStayInput, error) {
	in := csv.NewReader(bytes.NewReader(text))
	in.TrimLeadingSpace = true
	headings, err := in.Read()
	if err != nil {
		return nil, fmt.Errorf("the first line must name the columns: %w", err)
	}
	for i, h := range headings {
		if headings[i] = strings.TrimSpace(h); cardColumns[headings[i]] == nil {
			return nil, fmt.Errorf("there is no column %q here; a column is named with its unit, such as tonnage_t or found_mm", h)
		}
	}
	for _, must := range []string{"roll", "stand", "position", "mounted_at", "withdrawn_at", "tonnage_t"} {
		if !slices.Contains(headings, must) {
			return nil, fmt.Errorf("there is no column %s", must)
		}
	}
	var stays []oapi.PastStayInput
	for {
		row, err := in.Read()
		if errors.Is(err, io.EOF) {
			return stays, nil
		}
		if err != nil {
			return nil, err
		}
		var stay oapi.PastStayInput
		for i, cell := range row {
			if cell = strings.TrimSpace(cell); cell == "" {
				continue // of a roll that was not ground, say
			}
			if err := cardColumns[headings[i]](&stay, cell); err != nil {
				n, _ := in.FieldPos(i)
				return nil, fmt.Errorf("line %d, %s: %w", n, headings[i], err)
			}
		}
		stays = append(stays, stay)
	}
}
