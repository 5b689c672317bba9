package webhook

import (
	"context"

	"github.com/spf13/cobra"

	"barrelbook/client/cli/kit"
	"barrelbook/client/conn"
	"barrelbook/client/oapi"
)

// ResumeOptions choose the webhook.
type ResumeOptions struct {
	Factory *kit.Factory
	Name    string
}

// NewCmdResume takes up a webhook that was stopped.
func NewCmdResume(f *kit.Factory, runF func(context.Context, *ResumeOptions) error) *cobra.Command {
	o := &ResumeOptions{Factory: f}
	return &cobra.Command{
		Use:   "resume NAME",
		Short: "Try an address again at once, from the event that it did not take",
		Args:  kit.Args("NAME"),
		RunE: func(cmd *cobra.Command, args []string) error {
			o.Name = args[0]
			if runF != nil {
				return runF(cmd.Context(), o)
			}
			return resume(cmd.Context(), o)
		},
	}
}

func resume(ctx context.Context, o *ResumeOptions) error {
	c, err := o.Factory.Conn(ctx)
	if err != nil {
		return err
	}
	a, err := conn.Expect[oapi.Webhook](c.API.ResumeWebhook(ctx, o.Name))
	if err != nil {
		return kit.Failure{What: "the webhook was not resumed", Next: []string{kit.Path("webhook list")}}.Explain(err)
	}
	return kit.Show(o.Factory, a, func(w oapi.Webhook) error {
		o.Factory.Term.Say("Webhook %s is sent to again; %d events wait.", w.Name, w.BehindCount)
		return nil
	})
}
