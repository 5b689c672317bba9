package stand

import (
	"context"
	"fmt"
	"math"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"barrelbook/client/cli/kit"
	"barrelbook/client/conn"
	"barrelbook/client/oapi"
	"barrelbook/client/render"
	"barrelbook/client/term"
)

// ShowOptions choose the stand.
type ShowOptions struct {
	Factory *kit.Factory
	kit.Drawing
	Stand string
}

// NewCmdShow shows one stand.
func NewCmdShow(f *kit.Factory, runF func(context.Context, *ShowOptions) error) *cobra.Command {
	o := &ShowOptions{Factory: f}
	cmd := &cobra.Command{
		Use:   "show STAND",
		Short: "Show a stand, the rolls in it, what they have borne and how the load lies along them",
		Long: `Show a stand, the rolls in it, what they have borne since they went in, how they
are worn along the barrel, and how the load lies between work and backup roll
under the last piece, with the crown and the wear that they have now.`,
		Example:           kit.Example("barrelbook stand show F3", "barrelbook stand show F3 --svg f3.svg"),
		Args:              kit.Args("STAND"),
		ValidArgsFunction: kit.Complete(f, kit.Stands),
		RunE: func(cmd *cobra.Command, args []string) error {
			o.Stand = args[0]
			if runF != nil {
				return runF(cmd.Context(), o)
			}
			return show(cmd.Context(), o)
		},
	}
	o.Drawing.AddTo(cmd, "load and wear along the barrel")
	return cmd
}

func show(ctx context.Context, o *ShowOptions) error {
	u, err := o.Factory.Units()
	if err != nil {
		return err
	}
	c, err := o.Factory.Conn(ctx)
	if err != nil {
		return err
	}
	a, err := conn.Expect[oapi.StandView](c.API.GetStand(ctx, o.Stand, nil))
	if err != nil {
		return kit.Failure{Next: []string{kit.Path("stand list")}}.Explain(err)
	}
	if err := kit.Show(o.Factory, a, func(v oapi.StandView) error { Print(o.Factory.Term, u, v); return nil }); err != nil {
		return err
	}
	return o.Drawing.Write(o.Factory, "Stand "+o.Stand, panels(u, a.Value))
}

// Print shows a stand and the rolls in it to people.
func Print(t *term.Streams, u render.Units, v oapi.StandView) {
	printStand(t, u, v.Stand)
	table := render.Table{Columns: []render.Column{{Head: "position"}, {Head: "roll"}, {Head: "set", Spare: 2}, u.LengthColumn("diameter", ""), {Head: "in since"},
		{Head: "pieces", Right: true, Spare: 1}, u.MassColumn("rolled", ""), u.RolledColumn("length", ""), {Head: "turns", Right: true, Spare: 3}, u.SmallColumn("worn", "")}}
	for _, p := range v.Positions {
		row := []string{render.Words(p.Position), "empty", "", "", "", "", "", "", "", ""}
		if p.Roll != nil {
			row[1], row[2], row[4] = *p.Roll, render.Opt(p.Set), render.OptTime(p.MountedAt)
		}
		if p.DiameterMm != nil {
			row[3] = render.Bare(u.Length(*p.DiameterMm))
		}
		if use := p.Usage; use != nil {
			row[5], row[6], row[7], row[8] = strconv.FormatInt(use.PieceCount, 10), render.Bare(u.Mass(use.TonnageT)), render.Bare(u.Rolled(use.RolledKm)), render.Number(use.Revolutions, 4)
		}
		if since := p.SinceGrind; since != nil && since.WearUm > 0 {
			row[9] = render.Bare(u.Small(since.WearUm))
		}
		table.Add(row...)
	}
	t.Print("")
	table.Write(t)
	printRates(t, v.Positions)
	if v.StackMm != nil {
		t.Print("\nThe stack is %s high.", u.Dimension(math.Round(*v.StackMm)))
	}
	printLoad(t, u, v.Load)
	printWear(t, u, v.Positions, v.Load)
	if v.Trouble != nil {
		t.Print("\n%s.", v.Trouble.Says)
	}
	render.Bullets(t, "\nCautions:", render.Opt(v.Cautions))
}

// printStand shows the stand itself, with the limits entered for it.
func printStand(t *term.Streams, u render.Units, s oapi.Stand) {
	t.Print("%s", t.Bold(fmt.Sprintf("Stand %s, number %d of %s, %s", s.Name, s.Order, s.Mill, render.Words(s.Arrangement))))
	facts := render.Facts{}
	if render.Opt(s.Reversing) {
		facts.Add("runs", "both ways")
	}
	if s.Orientation != nil && *s.Orientation != oapi.StandOrientationHorizontal {
		facts.Add("roll axes", string(*s.Orientation))
	}
	limit := func(name string, v *float64, show func(float64) string) {
		if v != nil {
			facts.Add(name, show(*v))
		}
	}
	number := func(unit string) func(float64) string {
		return func(v float64) string { return render.Number(v, 4) + " " + unit }
	}
	limit("force up to", s.MaxForceKn, u.Force)
	limit("torque up to", s.MaxTorqueKnm, number("kNm"))
	limit("turns from", s.MinRpm, number("rpm"))
	limit("turns up to", s.MaxRpm, number("rpm"))
	limit("stack from", s.MinStackMm, u.Dimension)
	limit("stack up to", s.MaxStackMm, u.Dimension)
	limit("shims up to", s.MaxShimMm, u.Dimension)
	limit("bending", s.BendingForceKn, func(v float64) string { return u.Force(v) + " per chock" })
	facts.Write(t)
}

// printRates says which limits the rolls are past, and by which rate their wear
// is reckoned.
func printRates(t *term.Streams, positions []oapi.StandPosition) {
	var past, rates []string
	for _, p := range positions {
		since := p.SinceGrind
		if since == nil {
			continue
		}
		past = append(past, since.PastLimits...)
		if since.WearUm > 0 {
			rates = append(rates, fmt.Sprintf("%s at %s µm/km (%s)", render.Opt(p.Roll), render.Number(since.RateUmPerKm, 3), since.RateSource))
		}
	}
	render.Bullets(t, "\nPast a limit:", past)
	if len(rates) > 0 {
		t.Print("\nWear is that since the last grind by the rate now known: %s.", strings.Join(rates, "; "))
	}
}
