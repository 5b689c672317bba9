package roll

import (
	"context"
	"strings"

	"github.com/spf13/cobra"

	"barrelbook/client/cli/kit"
	"barrelbook/client/conn"
	"barrelbook/client/oapi"
	"barrelbook/client/render"
	"barrelbook/client/term"
)

// WhereOptions choose the roll.
type WhereOptions struct {
	Factory *kit.Factory
	Number  string
}

// NewCmdWhere says where a roll is, in three lines.
func NewCmdWhere(f *kit.Factory, runF func(context.Context, *WhereOptions) error) *cobra.Command {
	o := &WhereOptions{Factory: f}
	return &cobra.Command{
		Use:               "where NUMBER",
		Short:             "Say in three lines where a roll is, what is left of it, and whether it may go out",
		Example:           kit.Example("barrelbook roll where CW-110"),
		Args:              kit.Args("NUMBER"),
		ValidArgsFunction: kit.Complete(f, kit.Rolls),
		RunE: func(cmd *cobra.Command, args []string) error {
			o.Number = args[0]
			if runF != nil {
				return runF(cmd.Context(), o)
			}
			return where(cmd.Context(), o)
		},
	}
}

func where(ctx context.Context, o *WhereOptions) error {
	u, err := o.Factory.Units()
	if err != nil {
		return err
	}
	c, err := o.Factory.Conn(ctx)
	if err != nil {
		return err
	}
	a, err := conn.Expect[oapi.Roll](c.API.GetRoll(ctx, o.Number, nil))
	if err != nil {
		return kit.Failure{Next: []string{kit.Path("roll list --find %s", o.Number)}}.Explain(err)
	}
	return kit.Show(o.Factory, a, func(r oapi.Roll) error { printWhere(o.Factory.Term, u, r); return nil })
}

func printWhere(t *term.Streams, u render.Units, r oapi.Roll) {
	s := r.State
	line := r.Number + ": " + stageLine(s)
	if at := place(s); at != "" {
		line += ", " + at
	}
	if s.CoolAt != nil {
		line += ", warm until " + render.Time(*s.CoolAt)
	}
	if s.Held != nil {
		line += ", held: " + *s.Held
	}
	t.Print("%s.", line)
	t.Print("%s, %s above %s (%s).", u.Length(s.DiameterMm), u.Length(s.StockLeftMm), u.Length(s.ScrapMm), render.Words(s.ScrapLimit))
	verdict := map[oapi.FitnessVerdict]string{oapi.FitnessVerdictFit: t.Good("Fit within the limits entered"), oapi.FitnessVerdictNotFit: t.Bad("Not fit")}[s.Fit.Verdict]
	if verdict == "" {
		verdict = t.Doubt("Not released")
	}
	if len(s.Fit.Reasons) > 0 && s.Fit.Verdict != oapi.FitnessVerdictFit {
		verdict += ": " + strings.Join(s.Fit.Reasons, "; ")
	}
	t.Print("%s", dot(verdict))
}
