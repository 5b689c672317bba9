package order

import (
	"context"

	"github.com/spf13/cobra"

	"barrelbook/client/cli/kit"
	"barrelbook/client/conn"
	"barrelbook/client/oapi"
)

// ShowOptions choose the order.
type ShowOptions struct {
	Factory *kit.Factory
	Name    string
}

// NewCmdShow shows an order.
func NewCmdShow(f *kit.Factory, runF func(context.Context, *ShowOptions) error) *cobra.Command {
	o := &ShowOptions{Factory: f}
	cmd := &cobra.Command{
		Use:               "show NAME",
		Short:             "Show an order: what came, what is to come and at what price",
		Args:              kit.Args("NAME"),
		ValidArgsFunction: kit.Complete(f, names),
		RunE: func(cmd *cobra.Command, args []string) error {
			o.Name = args[0]
			if runF != nil {
				return runF(cmd.Context(), o)
			}
			c, err := f.Conn(cmd.Context())
			if err != nil {
				return err
			}
			a, err := conn.Expect[oapi.Order](c.API.GetOrder(cmd.Context(), o.Name))
			if err != nil {
				return failed("the order cannot be shown", err)
			}
			return shown(f, a, nil, "")
		},
	}
	return cmd
}
