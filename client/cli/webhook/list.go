package webhook

import (
	"context"
	"fmt"

	"github.com/spf13/cobra"

	"barrelbook/client/cli/kit"
	"barrelbook/client/conn"
	"barrelbook/client/oapi"
	"barrelbook/client/render"
)

// ListOptions choose the page.
type ListOptions struct {
	Factory *kit.Factory
	kit.Paging
}

// NewCmdList lists webhooks.
func NewCmdList(f *kit.Factory, runF func(context.Context, *ListOptions) error) *cobra.Command {
	o := &ListOptions{Factory: f}
	cmd := &cobra.Command{
		Use:   "list",
		Short: "List who is sent events, how far each was told and what failed last",
		Args:  kit.Args(),
		RunE: func(cmd *cobra.Command, _ []string) error {
			if runF != nil {
				return runF(cmd.Context(), o)
			}
			return list(cmd.Context(), o)
		},
	}
	o.Paging.AddTo(cmd)
	return cmd
}

func list(ctx context.Context, o *ListOptions) error {
	c, err := o.Factory.Conn(ctx)
	if err != nil {
		return err
	}
	columns := []render.Column{{Head: "webhook", Key: "webhook"}, {Head: "address", Key: "url", Spare: 1}, {Head: "taken", Key: "sent_count", Right: true}, {Head: "behind", Key: "behind_count", Right: true},
		{Head: "state", Key: "state"}, {Head: "last failure", Key: "failure"}}
	return kit.List(o.Factory, &o.Paging, "Nobody is sent events.", columns,
		func(limit *int64, cursor *string) (kit.Page[oapi.Webhook], error) {
			a, err := conn.Expect[oapi.WebhookPage](c.API.ListWebhooks(ctx, &oapi.ListWebhooksParams{Limit: limit, Cursor: cursor}))
			return kit.Page[oapi.Webhook]{Items: a.Value.Items, Next: a.Value.Next, Raw: a.Raw}, err
		},
		func(w oapi.Webhook) []string {
			return []string{w.Name, w.Url, fmt.Sprint(w.SentCount), fmt.Sprint(w.BehindCount), state(w), failure(w)}
		})
}

func state(w oapi.Webhook) string {
	switch {
	case w.StoppedAt != nil:
		return "stopped " + render.Time(*w.StoppedAt)
	case w.DueAt != nil:
		return "tries again " + render.Time(*w.DueAt)
	}
	return "sends"
}

func failure(w oapi.Webhook) string {
	if w.FailedAt == nil {
		return ""
	}
	return render.Time(*w.FailedAt) + " " + render.Opt(w.Failure)
}
