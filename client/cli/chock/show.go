package chock

import (
	"context"

	"github.com/spf13/cobra"

	"barrelbook/client/cli/kit"
	"barrelbook/client/conn"
	"barrelbook/client/oapi"
)

// ShowOptions choose the chock.
type ShowOptions struct {
	Factory *kit.Factory
	Chock   string
}

// NewCmdShow shows one chock.
func NewCmdShow(f *kit.Factory, runF func(context.Context, *ShowOptions) error) *cobra.Command {
	o := &ShowOptions{Factory: f}
	return &cobra.Command{
		Use:               "show CHOCK",
		Short:             "Show a chock: where it is and what its bearing has run",
		Args:              kit.Args("CHOCK"),
		ValidArgsFunction: kit.Complete(f, names),
		RunE: func(cmd *cobra.Command, args []string) error {
			o.Chock = args[0]
			if runF != nil {
				return runF(cmd.Context(), o)
			}
			return show(cmd.Context(), o)
		},
	}
}

func show(ctx context.Context, o *ShowOptions) error {
	c, err := o.Factory.Conn(ctx)
	if err != nil {
		return err
	}
	a, err := conn.Expect[oapi.Chock](c.API.GetChock(ctx, o.Chock))
	if err != nil {
		return kit.Failure{Next: []string{kit.Path("chock list")}}.Explain(err)
	}
	return shown(o.Factory, a, nil, "")
}
