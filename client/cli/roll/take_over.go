package roll

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"barrelbook/client/cli/kit"
	"barrelbook/client/conn"
	"barrelbook/client/oapi"
	"barrelbook/client/render"
)

// TakeOverOptions choose the file, or where the empty one to fill goes.
type TakeOverOptions struct {
	Factory  *kit.Factory
	File     string
	Template string
	DryRun   bool
}

// NewCmdTakeOver opens the books of a works that has rolls already.
func NewCmdTakeOver(f *kit.Factory, runF func(context.Context, *TakeOverOptions) error) *cobra.Command {
	o := &TakeOverOptions{Factory: f}
	cmd := &cobra.Command{
		Use:   "take-over [FILE|-]",
		Short: "Open the books of all rolls in a list, CSV or XLSX, with what they bore so far",
		Long: `Open the books of all rolls in a list, CSV or XLSX, one roll a line. --template
makes the empty list to fill: its first line names the columns, those of a receipt
with their units. Columns that stay empty may be left out. new_diameter_mm is what
a roll once measured; stand, position, mounted_at, withdrawn_at, tonnage_t and
rolled_km are what it bore so far, told as one stay. For every stay of its own see
roll carry-over.

Every cell is looked at before anything is recorded: where one is wrong, all that
are wrong are named by line and column and nothing is recorded. A roll that has a
book already is passed over, so that the same list may be sent again.`,
		Example: kit.Example("barrelbook roll take-over --template rolls.xlsx", "barrelbook roll take-over rolls.xlsx --dry-run", "barrelbook roll take-over rolls.xlsx"),
		Args:    kit.Args("[FILE]"),
		RunE: func(cmd *cobra.Command, args []string) error {
			o.File = kit.Arg(args, 0)
			if runF != nil {
				return runF(cmd.Context(), o)
			}
			if o.Template != "" {
				return kit.Into(f, o.Template, emptyList(o.Template))
			}
			return takeOver(cmd.Context(), o)
		},
	}
	cmd.Flags().StringVar(&o.Template, "template", "", "make the empty list in this `FILE`: CSV, or XLSX by its name's end")
	cmd.Flags().BoolVarP(&o.DryRun, "dry-run", "n", false, "look at every cell, record nothing")
	return cmd
}

func takeOver(ctx context.Context, o *TakeOverOptions) error {
	const what = "no roll was taken over"
	text, err := kit.ReadInput(o.Factory, o.File, "rolls")
	if err != nil {
		return kit.Failure{What: what}.Explain(err)
	}
	lines, err := listedRolls(text, o.Factory.Now())
	if err != nil {
		return kit.Failure{What: what, Next: []string{kit.Path("roll take-over --help")}}.Explain(&kit.Input{Err: err})
	}
	c, err := o.Factory.Conn(ctx)
	if err != nil {
		return err
	}
	fresh, stays, err := notThere(ctx, c, lines)
	if err != nil {
		return kit.Failure{What: what}.Explain(err)
	}
	if o.DryRun {
		o.Factory.Term.Print("%s would be taken over, %s with what they bore; %d have a book already. Nothing was recorded.", render.Count(int64(len(fresh)), "roll"), render.Count(int64(len(stays)), "roll"), len(lines)-len(fresh))
		return nil
	}
	for i, line := range fresh {
		key := line.key()
		if _, err := conn.Expect[oapi.Roll](c.API.ReceiveRoll(ctx, &oapi.ReceiveRollParams{IdempotencyKey: &key}, line.receipt)); err != nil {
			return kit.Failure{What: fmt.Sprintf("line %d was not recorded, %s before it were; send the list again once it is put right", line.number, render.Count(int64(i), "roll"))}.Explain(err)
		}
	}
	if len(stays) > 0 {
		if _, err := conn.Expect[oapi.PastStaysAnswer](c.API.RecordPastStays(ctx, &oapi.RecordPastStaysParams{}, oapi.PastStaysInput{Stays: stays})); err != nil {
			return kit.Failure{What: "the rolls have their books, but what they bore was not carried over; send the list again once it is put right"}.Explain(err)
		}
	}
	o.Factory.Term.Print("%s taken over, %d had a book already.", render.Count(int64(len(fresh)), "roll"), len(lines)-len(fresh))
	o.Factory.Term.Say("See them: %s", kit.Path("roll list"))
	return nil
}

// notThere are the lines whose rolls have no book yet, each tried by a dry run,
// and the stays that the list tells. All that is wrong is told together.
func notThere(ctx context.Context, c *conn.Conn, lines []listedRoll) (fresh []listedRoll, stays []oapi.PastStayInput, err error) {
	var wrong []error
	dry := true
	for _, line := range lines {
		if line.stay != nil {
			stays = append(stays, *line.stay)
		}
		_, err := conn.Expect[oapi.Roll](c.API.GetRoll(ctx, line.receipt.Number, nil))
		var no *conn.Problem
		switch {
		case err == nil:
			continue
		case !errors.As(err, &no) || no.Status != 404:
			return nil, nil, err
		}
		fresh = append(fresh, line)
		if _, err := conn.Expect[oapi.Roll](c.API.ReceiveRoll(ctx, &oapi.ReceiveRollParams{DryRun: &dry}, line.receipt)); errors.As(err, &no) && no.Status < 500 {
			wrong = append(wrong, fmt.Errorf("line %d: %s", line.number, no.Error())) // told with its line, not as the one refusal
		} else if err != nil {
			return nil, nil, err
		}
	}
	if len(wrong) > 0 {
		return nil, nil, &kit.Input{Err: errors.Join(wrong...)}
	}
	return fresh, stays, nil
}

// key is the same for the same line, so that one sent twice is recorded once.
func (l listedRoll) key() string {
	text, err := json.Marshal(l.receipt)
	if err != nil {
		return conn.NewKey()
	}
	sum := sha256.Sum256(text)
	return "take-over-" + strings.ToLower(hex.EncodeToString(sum[:12]))
}
