package change

import (
	"cmp"
	"context"
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"barrelbook/client/cli/kit"
	"barrelbook/client/conn"
	"barrelbook/client/oapi"
	"barrelbook/client/render"
	"barrelbook/domain/quantity"
)

// RecordOptions is a roll change as typed.
type RecordOptions struct {
	Factory *kit.Factory
	kit.Recording
	Stand, Role, In, Why, Note string
	Tonnage, Length, Force     string
	Empty                      bool
}

// NewCmdRecord records a roll change.
func NewCmdRecord(f *kit.Factory, runF func(context.Context, *RecordOptions) error) *cobra.Command {
	o := &RecordOptions{Factory: f}
	cmd := &cobra.Command{
		Use:   "record STAND",
		Short: "Record a roll change at a stand: what is in it comes out, and a set goes in",
		Long: `Record a roll change at a stand: what is in it comes out, and the set named
with --in goes in; with --empty nothing does. It is all or nothing.

One that is recorded late, with --at, takes its place before the changes that
came after it, and what was rolled since moves to the rolls that were really in.

Where the mill sends its pieces, what the rolls bore is known. Where it does
not, state it with --tonnage and --length.`,
		Example: kit.Example("barrelbook change record F3 --in S81 --why planned",
			"barrelbook change record F3 --role backup --in B12 --at 2026-03-04T14:05Z",
			"barrelbook change record F3 --in S81 --tonnage 2400t --length 41km",
			"barrelbook change record F3 --empty --why incident"),
		Args:              kit.Args("STAND"),
		ValidArgsFunction: kit.Complete(f, kit.Stands),
		RunE: func(cmd *cobra.Command, args []string) error {
			o.Stand = args[0]
			switch {
			case o.In == "" && !o.Empty:
				return kit.Usagef("say which set goes into %s with --in, or --empty when none does", o.Stand)
			case o.In != "" && o.Empty:
				return kit.Usagef("--in and --empty cannot both be: a set goes in, or none does")
			}
			if runF != nil {
				return runF(cmd.Context(), o)
			}
			return record(cmd.Context(), o)
		},
	}
	kit.Word(cmd, &o.Role, "role", "work", "which rolls are changed", []string{"work", "backup", "intermediate"})
	cmd.Flags().StringVar(&o.In, "in", "", "the `SET` that goes in")
	cmd.Flags().BoolVar(&o.Empty, "empty", false, "no set goes in: the stand stands empty")
	kit.Word(cmd, &o.Why, "why", "", "why the rolls came out", []string{"planned", "wear", "surface", "incident", "bearing", "schedule"})
	cmd.Flags().StringVar(&o.Tonnage, "tonnage", "", "what the rolls that come out rolled (`MASS`: 2400, 2400t, \"2600 short tons\")")
	cmd.Flags().StringVar(&o.Length, "length", "", "the length they rolled at the stand's exit (`LENGTH`: 41, 41km, 25mi)")
	cmd.Flags().StringVar(&o.Force, "specific-force", "", "their mean force per width (`LOAD`: 9.5kN/mm)")
	cmd.Flags().StringVar(&o.Note, "note", "", "a remark")
	o.Recording.AddTo(cmd, true)
	kit.CompleteSetsFor(f, cmd, "in", &o.Role)
	return cmd
}

var recordFlags = map[string]string{
	"stand": "STAND", "role": "--role", "set_in": "--in", "empty": "--empty", "why": "--why", "at": "--at", "note": "--note",
	"stated_tonnage_t": "--tonnage", "stated_rolled_km": "--length", "stated_specific_force_kn_per_mm": "--specific-force",
}

func (o *RecordOptions) input() (in oapi.ChangeInput, err error) {
	e, err := kit.NewEntry(o.Factory)
	if err != nil {
		return in, err
	}
	in = oapi.ChangeInput{
		Stand: o.Stand, Role: oapi.Role(o.Role), SetIn: kit.OptText(o.In), Why: kit.OptWord[oapi.WithdrawalWhy](o.Why), Note: kit.OptText(o.Note),
		Empty:          kit.OptTrue(o.Empty),
		StatedTonnageT: e.OptValue("--tonnage", o.Tonnage, quantity.Mass),
		StatedRolledKm: e.OptValue("--length", o.Length, quantity.RolledLength),
	}
	if load := e.OptValue("--specific-force", o.Force, quantity.LineLoad); load != nil {
		perMM := *load / 1000 // kN/mm from N/mm
		in.StatedSpecificForceKnPerMm = &perMM
	}
	if err := e.Err(); err != nil {
		return in, err
	}
	in.At, err = o.Moment(o.Factory)
	return in, err
}

func record(ctx context.Context, o *RecordOptions) error {
	what := "the roll change at " + o.Stand + " was not recorded"
	in, err := o.input()
	if err != nil {
		return kit.Failure{What: what}.Explain(err)
	}
	u, err := o.Factory.Units()
	if err != nil {
		return err
	}
	c, err := o.Factory.Conn(ctx)
	if err != nil {
		return err
	}
	dry, key := o.Params()
	a, err := conn.Expect[oapi.Change](c.API.RecordChange(ctx, &oapi.RecordChangeParams{DryRun: dry, IdempotencyKey: key}, in))
	if err != nil {
		next := []string{kit.Path("stand show %s", o.Stand)}
		if o.In != "" {
			next = []string{kit.Path("set show %s", o.In)}
		}
		return kit.Failure{What: what, Flag: recordFlags, Next: next}.Explain(err)
	}
	err = kit.Show(o.Factory, a, func(ch oapi.Change) error {
		t := o.Factory.Term
		t.Print("%s", t.Bold(fmt.Sprintf("Roll change at %s, %s rolls, %s", ch.Stand, ch.Role, render.Time(ch.At))))
		moved(o.Factory, u, "out", render.Opt(ch.Out))
		moved(o.Factory, u, "in", render.Opt(ch.In))
		rebooked(o.Factory, u, ch)
		render.Bullets(t, "\nCautions:", render.Opt(ch.Cautions))
		t.Print("\n%s", nowIn(ch))
		if out := rolls(render.Opt(ch.Out)); len(out) > 0 {
			t.Print("Out came %s. When they are cool: %s", render.Join(out), kit.Path("regrind advise %s", out[0]))
		}
		return nil
	})
	if err == nil {
		o.Noted(o.Factory, "Recorded as change %s.", a.Value.Name)
	}
	return err
}

// nowIn says what is in the stand after the change.
func nowIn(ch oapi.Change) string {
	if in := rolls(render.Opt(ch.In)); len(in) > 0 {
		return fmt.Sprintf("In %s: %s as its %s rolls.", ch.Stand, render.Join(in), ch.Role)
	}
	return fmt.Sprintf("%s stands without %s rolls.", ch.Stand, ch.Role)
}

// rolls are the rolls of the positions, top first.
func rolls(positions []oapi.StandPosition) []string {
	var numbers []string
	for _, p := range positions {
		switch {
		case p.Roll == nil:
		case strings.HasPrefix(string(p.Position), "top"):
			numbers = append([]string{*p.Roll}, numbers...)
		default:
			numbers = append(numbers, *p.Roll)
		}
	}
	return numbers
}

// rebooked says what a late record moved from roll to roll.
func rebooked(f *kit.Factory, u render.Units, ch oapi.Change) {
	var lines []string
	for _, m := range render.Opt(ch.Moved) {
		lines = append(lines, fmt.Sprintf("%s: %s, %s from %s", cmp.Or(render.Opt(m.Roll), "no roll"), render.Count(m.PieceCount, "piece"), u.Mass(m.TonnageT), cmp.Or(render.Opt(m.From), "no roll")))
	}
	render.Bullets(f.Term, "\nBooked on other rolls than before:", lines)
}

// moved lists the rolls that went one way.
func moved(f *kit.Factory, u render.Units, way string, positions []oapi.StandPosition) {
	table := render.Table{Columns: []render.Column{{Head: way}, {Head: "set", Spare: 1}, {Head: "position", Spare: 2}, u.LengthColumn("diameter", ""), u.MassColumn("rolled", ""), u.RolledColumn("length", "")}}
	for _, p := range positions {
		diameter, tonnage, length := "", "", ""
		if p.DiameterMm != nil {
			diameter = render.Bare(u.Length(*p.DiameterMm))
		}
		if p.Usage != nil {
			tonnage, length = render.Bare(u.Mass(p.Usage.TonnageT)), render.Bare(u.Rolled(p.Usage.RolledKm))
		}
		table.Add(render.Opt(p.Roll), render.Opt(p.Set), render.Words(p.Position), diameter, tonnage, length)
	}
	table.Write(f.Term)
}
