package order

import (
	"context"
	"time"

	"github.com/spf13/cobra"

	"barrelbook/client/cli/kit"
	"barrelbook/client/conn"
	"barrelbook/client/oapi"
)

// ChangeOptions is what became of an order.
type ChangeOptions struct {
	Factory *kit.Factory
	kit.Recording
	Name              string
	Rolls             []string
	Due, Note, Reason string
}

// NewCmdArrive notes rolls that came.
func NewCmdArrive(f *kit.Factory, runF func(context.Context, *ChangeOptions) error) *cobra.Command {
	o := &ChangeOptions{Factory: f}
	cmd := &cobra.Command{
		Use:               "arrive NAME ROLL...",
		Short:             "Note which received rolls came with an order",
		Example:           kit.Example("barrelbook order arrive PO-4711 CW-201 CW-202"),
		ValidArgsFunction: kit.Complete(f, names),
		Args: func(cmd *cobra.Command, args []string) error {
			if len(args) < 2 {
				return kit.Usagef("%s needs NAME and the numbers of the rolls that came", cmd.CommandPath())
			}
			return nil
		},
		RunE: func(cmd *cobra.Command, args []string) error {
			o.Name, o.Rolls = args[0], args[1:]
			return change(cmd.Context(), o, runF, "the arrival was not noted", "The arrival is noted.", func(c *conn.Conn, dry *bool, key *string) (conn.Answer[oapi.Order], error) {
				return conn.Expect[oapi.Order](c.API.RecordArrival(cmd.Context(), o.Name, &oapi.RecordArrivalParams{DryRun: dry, IdempotencyKey: key}, oapi.ArrivalInput{Rolls: o.Rolls}))
			})
		},
	}
	o.Recording.AddTo(cmd, false)
	return cmd
}

// NewCmdMove notes another due date.
func NewCmdMove(f *kit.Factory, runF func(context.Context, *ChangeOptions) error) *cobra.Command {
	o := &ChangeOptions{Factory: f}
	cmd := &cobra.Command{
		Use:               "move NAME",
		Short:             "Note another day on which the rest is promised",
		Example:           kit.Example("barrelbook order move PO-4711 --due 2026-12-15 --note \"furnace repair at the foundry\""),
		Args:              kit.Args("NAME"),
		ValidArgsFunction: kit.Complete(f, names),
		RunE: func(cmd *cobra.Command, args []string) error {
			o.Name = args[0]
			return change(cmd.Context(), o, runF, "the order was not moved", "The order is moved.", func(c *conn.Conn, dry *bool, key *string) (a conn.Answer[oapi.Order], err error) {
				var due time.Time
				if due, err = kit.ParseTime(o.Factory, "--due", o.Due); err != nil {
					return a, err
				}
				return conn.Expect[oapi.Order](c.API.MoveOrder(cmd.Context(), o.Name, &oapi.MoveOrderParams{DryRun: dry, IdempotencyKey: key}, oapi.DueDateInput{DueAt: due, Note: kit.OptText(o.Note)}))
			})
		},
	}
	cmd.Flags().StringVar(&o.Due, "due", "", "the day that is promised now (`TIME`)")
	cmd.Flags().StringVar(&o.Note, "note", "", "a remark")
	o.Recording.AddTo(cmd, false)
	kit.Require(cmd, "due")
	return cmd
}

// NewCmdClose ends an order.
func NewCmdClose(f *kit.Factory, runF func(context.Context, *ChangeOptions) error) *cobra.Command {
	o := &ChangeOptions{Factory: f}
	cmd := &cobra.Command{
		Use:               "close NAME",
		Short:             "End an order of which no more rolls will come",
		Args:              kit.Args("NAME"),
		ValidArgsFunction: kit.Complete(f, names),
		RunE: func(cmd *cobra.Command, args []string) error {
			o.Name = args[0]
			return change(cmd.Context(), o, runF, "the order was not closed", "The order is closed.", func(c *conn.Conn, dry *bool, key *string) (a conn.Answer[oapi.Order], err error) {
				return conn.Expect[oapi.Order](c.API.CloseOrder(cmd.Context(), o.Name, &oapi.CloseOrderParams{DryRun: dry, IdempotencyKey: key}, oapi.ReasonInput{Reason: o.Reason}))
			})
		},
	}
	cmd.Flags().StringVar(&o.Reason, "reason", "", "why nothing more comes")
	o.Recording.AddTo(cmd, false)
	kit.Require(cmd, "reason")
	return cmd
}

func change(ctx context.Context, o *ChangeOptions, runF func(context.Context, *ChangeOptions) error, what, done string, send func(c *conn.Conn, dry *bool, key *string) (conn.Answer[oapi.Order], error)) error {
	if runF != nil {
		return runF(ctx, o)
	}
	c, err := o.Factory.Conn(ctx)
	if err != nil {
		return err
	}
	dry, key := o.Params()
	a, err := send(c, dry, key)
	if err != nil {
		return failed(what, err)
	}
	return shown(o.Factory, a, &o.Recording, done)
}
