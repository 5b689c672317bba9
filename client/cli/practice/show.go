package practice

import (
	"context"

	"github.com/spf13/cobra"

	"barrelbook/client/cli/kit"
	"barrelbook/client/conn"
	"barrelbook/client/oapi"
)

// ShowOptions choose the practice.
type ShowOptions struct {
	Factory *kit.Factory
	Name    string
}

// NewCmdShow shows one practice.
func NewCmdShow(f *kit.Factory, runF func(context.Context, *ShowOptions) error) *cobra.Command {
	o := &ShowOptions{Factory: f}
	return &cobra.Command{
		Use:               "show PRACTICE",
		Short:             "Show a practice",
		Args:              kit.Args("PRACTICE"),
		ValidArgsFunction: kit.Complete(f, kit.Practices),
		RunE: func(cmd *cobra.Command, args []string) error {
			o.Name = args[0]
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
	a, err := conn.Expect[oapi.Practice](c.API.GetPractice(ctx, o.Name))
	if err != nil {
		return kit.Failure{Next: []string{kit.Path("practice list")}}.Explain(err)
	}
	return kit.Show(o.Factory, a, func(p oapi.Practice) error { Print(o.Factory.Term, p); return nil })
}
