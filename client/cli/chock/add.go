package chock

import (
	"context"

	"github.com/spf13/cobra"

	"barrelbook/client/cli/kit"
	"barrelbook/client/conn"
	"barrelbook/client/oapi"
)

// AddOptions is a new chock as typed.
type AddOptions struct {
	Factory *kit.Factory
	kit.Recording
	Name, Mill, Role, Bearing, Note string
	InspectEvery                    kit.OptNumber
	InspectEveryT, InspectEveryRev  kit.OptNumber
}

// NewCmdAdd opens the book of a chock.
func NewCmdAdd(f *kit.Factory, runF func(context.Context, *AddOptions) error) *cobra.Command {
	o := &AddOptions{Factory: f}
	cmd := &cobra.Command{
		Use:     "add CHOCK",
		Short:   "Open the book of a chock and its bearing",
		Example: kit.Example("barrelbook chock add K17 --mill HSM --role work --bearing \"four-row taper 4471\" --inspect-every 1500"),
		Args:    kit.Args("CHOCK"),
		RunE: func(cmd *cobra.Command, args []string) error {
			o.Name = args[0]
			if runF != nil {
				return runF(cmd.Context(), o)
			}
			return add(cmd.Context(), o)
		},
	}
	fl := cmd.Flags()
	fl.StringVar(&o.Mill, "mill", "", "the `MILL` it belongs to")
	kit.Word(cmd, &o.Role, "role", "work", "the rolls it is for", []string{"work", "backup", "intermediate"})
	fl.StringVar(&o.Bearing, "bearing", "", "number or sort of the bearing in it")
	fl.Var(&o.InspectEvery, "inspect-every", "hours in stands between inspections")
	fl.Var(&o.InspectEveryT, "inspect-every-tonnes", "tonnes between inspections")
	fl.Var(&o.InspectEveryRev, "inspect-every-revolutions", "revolutions between inspections")
	fl.StringVar(&o.Note, "note", "", "a remark")
	o.Recording.AddTo(cmd, true)
	kit.Require(cmd, "mill", "bearing")
	kit.CompleteFlag(f, cmd, "mill", kit.Mills)
	return cmd
}

func add(ctx context.Context, o *AddOptions) error {
	const what = "the chock was not added"
	at, err := o.Moment(o.Factory)
	if err != nil {
		return kit.Failure{What: what}.Explain(err)
	}
	c, err := o.Factory.Conn(ctx)
	if err != nil {
		return err
	}
	dry, key := o.Params()
	a, err := conn.Expect[oapi.Chock](c.API.AddChock(ctx, &oapi.AddChockParams{DryRun: dry, IdempotencyKey: key},
		oapi.ChockInput{Name: o.Name, Mill: o.Mill, Role: oapi.Role(o.Role), Bearing: o.Bearing, InspectEveryH: o.InspectEvery.Value, InspectEveryT: o.InspectEveryT.Value, InspectEveryRevolutions: o.InspectEveryRev.Value, ReceivedAt: at, Note: kit.OptText(o.Note)}))
	if err != nil {
		return kit.Failure{What: what, Flag: flags, Next: []string{kit.Path("chock list")}}.Explain(err)
	}
	return shown(o.Factory, a, &o.Recording, "The book of chock "+o.Name+" is open.")
}
