package incident

import (
	"context"
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"barrelbook/client/cli/kit"
	"barrelbook/client/conn"
	"barrelbook/client/oapi"
	"barrelbook/client/render"
)

// RecordOptions is a mishap as typed.
type RecordOptions struct {
	Factory *kit.Factory
	kit.Recording
	What, Stand, Roll, Note string
}

var kinds = []string{"cobble", "pinch", "spall", "strip_weld", "overload", "fire_crack", "bruise", "bearing", "neck", "cooling_loss", "other"}

// NewCmdRecord records a mishap.
func NewCmdRecord(f *kit.Factory, runF func(context.Context, *RecordOptions) error) *cobra.Command {
	o := &RecordOptions{Factory: f}
	cmd := &cobra.Command{
		Use:   "record WHAT",
		Short: "Record a mishap at a stand, to all rolls that were in it, or to one roll",
		Long: "Record a mishap at a stand, to all rolls that were in it, or to one roll, and\nhear what they owe.\n\nWHAT is one of: " +
			strings.Join(kinds, ", ") + ".",
		Example:   kit.Example("barrelbook incident record cobble --stand F3", "barrelbook incident record bruise --roll R1234 --note \"sling mark, drive end\""),
		Args:      kit.Args("WHAT"),
		ValidArgs: kinds,
		RunE: func(cmd *cobra.Command, args []string) error {
			o.What = strings.ReplaceAll(args[0], "-", "_")
			if !oapi.IncidentInputWhat(o.What).Valid() {
				return kit.Usagef("%q is not a known incident; it is one of: %s", args[0], strings.Join(kinds, ", "))
			}
			if (o.Stand == "") == (o.Roll == "") {
				return kit.Usagef("say where it was: --stand STAND for all rolls in it, or --roll ROLL for one")
			}
			if runF != nil {
				return runF(cmd.Context(), o)
			}
			return record(cmd.Context(), o)
		},
	}
	cmd.Flags().StringVar(&o.Stand, "stand", "", "the `STAND` it was at")
	cmd.Flags().StringVar(&o.Roll, "roll", "", "the `ROLL` it was to")
	cmd.Flags().StringVar(&o.Note, "note", "", "a remark")
	o.Recording.AddTo(cmd, true)
	kit.CompleteFlag(f, cmd, "stand", kit.Stands)
	kit.CompleteFlag(f, cmd, "roll", kit.Rolls)
	return cmd
}

// next is what the shop does with rolls that owe tests.
func next(i oapi.Incident) string {
	inspect := kit.Path("roll inspect %s --test TEST:passed", i.Rolls[0])
	if stand := render.Opt(i.Stand); stand != "" {
		return fmt.Sprintf("Once out, none of these rolls goes in again before its tests are passed: %s, test them, and record each: %s",
			kit.Path("change record %s --in SET", stand), inspect)
	}
	return fmt.Sprintf("%s goes in again only when its tests are passed: %s", i.Rolls[0], inspect)
}

func sentence(text string) string { return strings.ToUpper(text[:1]) + text[1:] }

func record(ctx context.Context, o *RecordOptions) error {
	what := "the " + render.Words(o.What) + " was not recorded"
	at, err := o.Moment(o.Factory)
	if err != nil {
		return kit.Failure{What: what}.Explain(err)
	}
	c, err := o.Factory.Conn(ctx)
	if err != nil {
		return err
	}
	dry, key := o.Params()
	a, err := conn.Expect[oapi.Incident](c.API.RecordIncident(ctx, &oapi.RecordIncidentParams{DryRun: dry, IdempotencyKey: key},
		oapi.IncidentInput{What: oapi.IncidentInputWhat(o.What), Stand: kit.OptText(o.Stand), Roll: kit.OptText(o.Roll), Note: kit.OptText(o.Note), At: at}))
	if err != nil {
		next := kit.Path("roll show %s", o.Roll)
		if o.Stand != "" {
			next = kit.Path("stand show %s", o.Stand)
		}
		return kit.Failure{What: what, Flag: map[string]string{"what": "WHAT", "stand": "--stand", "roll": "--roll", "note": "--note", "at": "--at"},
			Next: []string{next}}.Explain(err)
	}
	err = kit.Show(o.Factory, a, func(i oapi.Incident) error {
		t := o.Factory.Term
		where := render.Opt(i.Stand)
		if where != "" {
			where = " at " + where
		}
		t.Print("%s", t.Bold(fmt.Sprintf("%s%s, %s", sentence(render.Words(i.What)), where, render.Time(i.At))))
		t.Print("rolls  %s", render.Join(i.Rolls))
		render.Bullets(t, "\nCautions:", render.Opt(i.Cautions))
		render.Bullets(t, "\nTests owed:", render.Opt(i.Owed))
		if len(render.Opt(i.Owed)) > 0 {
			t.Print("\n%s", next(i))
		}
		return nil
	})
	if err == nil {
		o.Noted(o.Factory, "Recorded as incident %s.", a.Value.Name)
	}
	return err
}
