package webhook

import (
	"context"

	"github.com/spf13/cobra"

	"barrelbook/client/cli/kit"
	"barrelbook/client/conn"
	"barrelbook/client/oapi"
)

// CreateOptions is a webhook as asked for.
type CreateOptions struct {
	Factory         *kit.Factory
	Name, URL, Mill string
	Types           []string
}

// NewCmdCreate makes a webhook.
func NewCmdCreate(f *kit.Factory, runF func(context.Context, *CreateOptions) error) *cobra.Command {
	o := &CreateOptions{Factory: f}
	cmd := &cobra.Command{
		Use:   "create NAME URL",
		Short: "Have what is recorded from now on sent to an address",
		Long: `Have what is recorded from now on sent to an address: one POST for each event, in
order, signed in the form of Standard Webhooks. The secret that signs is printed
once and never again. The daemon must be set to send (its setting webhooks), and
allow networks that are not public (webhook-networks).`,
		Example: kit.Example("barrelbook webhook create erp https://erp.example/rolls --types entry,change > erp.secret"),
		Args:    kit.Args("NAME", "URL"),
		RunE: func(cmd *cobra.Command, args []string) error {
			o.Name, o.URL = args[0], args[1]
			if runF != nil {
				return runF(cmd.Context(), o)
			}
			return create(cmd.Context(), o)
		},
	}
	cmd.Flags().StringSliceVar(&o.Types, "types", nil, "only these `TYPES`, with commas between: entry,change.recorded")
	cmd.Flags().StringVar(&o.Mill, "mill", "", "only what is of this `MILL` or of none")
	kit.CompleteFlag(f, cmd, "mill", kit.Mills)
	return cmd
}

func create(ctx context.Context, o *CreateOptions) error {
	c, err := o.Factory.Conn(ctx)
	if err != nil {
		return err
	}
	in := oapi.WebhookInput{Name: o.Name, Url: o.URL, Mill: kit.OptText(o.Mill)}
	if len(o.Types) > 0 {
		in.Types = &o.Types
	}
	a, err := conn.Expect[oapi.WebhookSecret](c.API.CreateWebhook(ctx, in))
	if err != nil {
		return kit.Failure{What: "the webhook was not made", Flag: map[string]string{"name": "NAME", "url": "URL", "types": "--types", "mill": "--mill"},
			Next: []string{kit.Path("webhook list")}}.Explain(err)
	}
	err = kit.Show(o.Factory, a, func(w oapi.WebhookSecret) error { o.Factory.Term.Print("%s", w.Secret); return nil })
	if err == nil {
		o.Factory.Term.Say("Webhook %s sends to %s. The secret is shown this once: what receives checks signatures with it.", o.Name, o.URL)
	}
	return err
}
