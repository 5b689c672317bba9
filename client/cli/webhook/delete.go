package webhook

import (
	"context"

	"github.com/spf13/cobra"

	"barrelbook/client/cli/kit"
	"barrelbook/client/conn"
)

// DeleteOptions choose the webhook.
type DeleteOptions struct {
	Factory *kit.Factory
	Name    string
	Yes     bool
}

// NewCmdDelete ends a webhook.
func NewCmdDelete(f *kit.Factory, runF func(context.Context, *DeleteOptions) error) *cobra.Command {
	o := &DeleteOptions{Factory: f}
	cmd := &cobra.Command{
		Use:   "delete NAME",
		Short: "Send no more to an address",
		Args:  kit.Args("NAME"),
		RunE: func(cmd *cobra.Command, args []string) error {
			o.Name = args[0]
			if runF != nil {
				return runF(cmd.Context(), o)
			}
			return remove(cmd.Context(), o)
		},
	}
	cmd.Flags().BoolVar(&o.Yes, "yes", false, "do not ask")
	return cmd
}

func remove(ctx context.Context, o *DeleteOptions) error {
	if err := kit.Confirmed(o.Factory, o.Yes, "Send no more to "+o.Name+"?"); err != nil {
		return err
	}
	c, err := o.Factory.Conn(ctx)
	if err != nil {
		return err
	}
	if _, err := conn.Expect[struct{}](c.API.DeleteWebhook(ctx, o.Name)); err != nil {
		return kit.Failure{What: "the webhook was not removed", Next: []string{kit.Path("webhook list")}}.Explain(err)
	}
	o.Factory.Term.Say("Webhook %s is removed.", o.Name)
	return nil
}
