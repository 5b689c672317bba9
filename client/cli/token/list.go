package token

import (
	"context"
	"strings"

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

// NewCmdList lists tokens.
func NewCmdList(f *kit.Factory, runF func(context.Context, *ListOptions) error) *cobra.Command {
	o := &ListOptions{Factory: f}
	cmd := &cobra.Command{
		Use:   "list",
		Short: "List tokens, without their secrets",
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
	columns := []render.Column{{Head: "token", Key: "token"}, {Head: "role", Key: "role"}, {Head: "mills", Key: "mills", Spare: 3}, {Head: "made", Key: "created_at", Spare: 1}, {Head: "ends", Key: "expires_at"}, {Head: "revoked", Key: "revoked_at"}, {Head: "last used", Key: "used_at", Spare: 2}}
	return kit.List(o.Factory, &o.Paging, "There is no token.", columns,
		func(limit *int64, cursor *string) (kit.Page[oapi.Token], error) {
			a, err := conn.Expect[oapi.TokenPage](c.API.ListTokens(ctx, &oapi.ListTokensParams{Limit: limit, Cursor: cursor}))
			return kit.Page[oapi.Token]{Items: a.Value.Items, Next: a.Value.Next, Raw: a.Raw}, err
		},
		func(t oapi.Token) []string {
			return []string{t.Name, string(t.Role), strings.Join(render.Opt(t.Mills), " "), render.Time(t.CreatedAt), render.Time(t.ExpiresAt), render.OptTime(t.RevokedAt), render.OptTime(t.UsedAt)}
		})
}
