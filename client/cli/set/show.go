package set

import (
	"context"

	"github.com/spf13/cobra"

	"barrelbook/client/cli/kit"
	"barrelbook/client/conn"
	"barrelbook/client/oapi"
)

// ShowOptions choose the set.
type ShowOptions struct {
	Factory *kit.Factory
	kit.Paper
	Set string
}

// NewCmdShow shows one set.
func NewCmdShow(f *kit.Factory, runF func(context.Context, *ShowOptions) error) *cobra.Command {
	o := &ShowOptions{Factory: f}
	cmd := &cobra.Command{
		Use:               "show SET",
		Short:             "Show a set: its rolls, their mismatch now, and whether it can go in",
		Example:           kit.Example("barrelbook set show S12 --pdf s12.pdf"),
		Args:              kit.Args("SET"),
		ValidArgsFunction: kit.Complete(f, kit.Sets),
		RunE: func(cmd *cobra.Command, args []string) error {
			o.Set = args[0]
			if runF != nil {
				return runF(cmd.Context(), o)
			}
			return show(cmd.Context(), o)
		},
	}
	o.Paper.AddTo(cmd, "the set's card, with codes of its name,")
	return cmd
}

func show(ctx context.Context, o *ShowOptions) error {
	c, err := o.Factory.Conn(ctx)
	if err != nil {
		return err
	}
	a, err := conn.Expect[oapi.Set](c.API.GetSet(ctx, o.Set, nil))
	if err != nil {
		return kit.Failure{Next: []string{kit.Path("set list")}}.Explain(err)
	}
	if err := shown(o.Factory, a, nil, ""); err != nil || o.PDF == "" {
		return err
	}
	u, err := o.Factory.Units()
	if err != nil {
		return err
	}
	page, err := card(ctx, c, u, a.Value)
	if err != nil {
		return err
	}
	return o.Paper.Write(o.Factory, page)
}
