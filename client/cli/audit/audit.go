// Package audit shows who did what.
package audit

import (
	"context"

	"github.com/spf13/cobra"

	"barrelbook/client/cli/kit"
	"barrelbook/client/conn"
	"barrelbook/client/oapi"
	"barrelbook/client/render"
)

// NewCmd gathers the verbs.
func NewCmd(f *kit.Factory) *cobra.Command {
	return kit.Noun("audit", "See who did what", NewCmdList(f, nil))
}

// ListOptions choose the page.
type ListOptions struct {
	Factory *kit.Factory
	kit.Paging
	By, Operation, Subject, Request, From, Until string
}

// NewCmdList lists what was done.
func NewCmdList(f *kit.Factory, runF func(context.Context, *ListOptions) error) *cobra.Command {
	o := &ListOptions{Factory: f}
	cmd := &cobra.Command{
		Use:   "list",
		Short: "List who did what, newest first",
		Args:  kit.Args(),
		RunE: func(cmd *cobra.Command, _ []string) error {
			if runF != nil {
				return runF(cmd.Context(), o)
			}
			return list(cmd.Context(), o)
		},
	}
	o.Paging.AddTo(cmd)
	cmd.Flags().StringVar(&o.By, "by", "", "only by this `NAME`")
	cmd.Flags().StringVar(&o.Operation, "operation", "", "only this `OPERATION` of the API: recordChange")
	cmd.Flags().StringVar(&o.Subject, "subject", "", "only what was about this `THING`: rolls/CW-110")
	cmd.Flags().StringVar(&o.Request, "request", "", "only the request with this `ID`")
	cmd.Flags().StringVar(&o.From, "from", "", "from this `TIME` on")
	cmd.Flags().StringVar(&o.Until, "until", "", "before this `TIME`")
	return cmd
}

func list(ctx context.Context, o *ListOptions) error {
	from, err := kit.OptTime(o.Factory, "--from", o.From)
	if err != nil {
		return kit.Failure{}.Explain(err)
	}
	until, err := kit.OptTime(o.Factory, "--until", o.Until)
	if err != nil {
		return kit.Failure{}.Explain(err)
	}
	c, err := o.Factory.Conn(ctx)
	if err != nil {
		return err
	}
	columns := []render.Column{{Head: "at", Key: "at"}, {Head: "by", Key: "by"}, {Head: "what", Key: "what"}, {Head: "request", Key: "request_id", Spare: 1}}
	return kit.List(o.Factory, &o.Paging, "Nothing is recorded.", columns,
		func(limit *int64, cursor *string) (kit.Page[oapi.AuditLine], error) {
			a, err := conn.Expect[oapi.AuditPage](c.API.ListAudit(ctx, &oapi.ListAuditParams{Limit: limit, Cursor: cursor, By: kit.OptText(o.By), Operation: kit.OptText(o.Operation),
				Subject: kit.OptText(o.Subject), RequestId: kit.OptText(o.Request), From: from, Until: until}))
			return kit.Page[oapi.AuditLine]{Items: a.Value.Items, Next: a.Value.Next, Raw: a.Raw}, err
		},
		func(l oapi.AuditLine) []string {
			return []string{render.Time(l.At), l.By, l.What, render.Opt(l.RequestId)}
		})
}
