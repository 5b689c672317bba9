package incident

import (
	"context"

	"github.com/spf13/cobra"

	"barrelbook/client/cli/kit"
	"barrelbook/client/conn"
	"barrelbook/client/oapi"
	"barrelbook/client/render"
)

// UndoOptions is an incident that was recorded wrongly.
type UndoOptions struct {
	Factory *kit.Factory
	kit.Recording
	kit.Revising
	Incident, Reason string
}

// NewCmdUndo takes an incident out of all books.
func NewCmdUndo(f *kit.Factory, runF func(context.Context, *UndoOptions) error) *cobra.Command {
	o := &UndoOptions{Factory: f}
	cmd := &cobra.Command{
		Use:   "undo INCIDENT",
		Short: "Take an incident that was recorded wrongly out of the books of all its rolls",
		Long: `Take an incident that was recorded wrongly out of the books of all rolls that
bore it, with the tests it made owed. The books keep both the incident and its
undoing, and the list shows it marked. It is for an engineer.

What follows for each roll is shown before you are asked.`,
		Example: kit.Example("barrelbook incident undo incident-01J8Z3 --reason \"it was at F6\""),
		Args:    kit.Args("INCIDENT"),
		RunE: func(cmd *cobra.Command, args []string) error {
			o.Incident = args[0]
			if runF != nil {
				return runF(cmd.Context(), o)
			}
			return undo(cmd.Context(), o)
		},
	}
	cmd.Flags().StringVar(&o.Reason, "reason", "", "why it is wrong")
	o.Revising.AddTo(cmd)
	o.Recording.AddTo(cmd, false)
	kit.Require(cmd, "reason")
	return cmd
}

func undo(ctx context.Context, o *UndoOptions) error {
	u, err := o.Factory.Units()
	if err != nil {
		return err
	}
	c, err := o.Factory.Conn(ctx)
	if err != nil {
		return err
	}
	_, key := o.Params()
	a, done, err := kit.Revise(o.Factory, &o.Recording, o.Yes, "Take incident "+o.Incident+" out of the books?", func(dry bool) (conn.Answer[oapi.Incident], error) {
		return conn.Expect[oapi.Incident](c.API.UndoIncident(ctx, o.Incident, &oapi.UndoIncidentParams{DryRun: kit.OptTrue(dry), IdempotencyKey: key}, oapi.UndoInput{Reason: o.Reason}))
	}, func(f *kit.Factory, i oapi.Incident) error {
		f.Term.Print("Incident %s, %s, does not stand any more in the books of %s.", i.Name, render.Words(i.What), render.Join(i.Rolls))
		return kit.PrintStandings(f, u, render.Opt(i.Before), render.Opt(i.After))
	})
	if err != nil {
		return kit.Failure{What: "the incident " + o.Incident + " was not undone", Flag: map[string]string{"reason": "--reason"}, Next: []string{kit.Path("incident list")}}.Explain(err)
	}
	if done {
		o.Noted(o.Factory, "Incident %s is taken out of the books of %s.", o.Incident, render.Join(a.Value.Rolls))
	} else {
		o.Noted(o.Factory, "")
	}
	return nil
}
