package token

import (
	"context"

	"github.com/spf13/cobra"

	"barrelbook/client/cli/kit"
	"barrelbook/client/conn"
)

// RevokeOptions choose the token.
type RevokeOptions struct {
	Factory *kit.Factory
	Name    string
	Yes     bool
}

// NewCmdRevoke ends a token.
func NewCmdRevoke(f *kit.Factory, runF func(context.Context, *RevokeOptions) error) *cobra.Command {
	o := &RevokeOptions{Factory: f}
	cmd := &cobra.Command{
		Use:   "revoke NAME",
		Short: "End a token: whoever holds it is let in no more",
		Args:  kit.Args("NAME"),
		RunE: func(cmd *cobra.Command, args []string) error {
			o.Name = args[0]
			if runF != nil {
				return runF(cmd.Context(), o)
			}
			return revoke(cmd.Context(), o)
		},
	}
	cmd.Flags().BoolVar(&o.Yes, "yes", false, "do not ask")
	return cmd
}

func revoke(ctx context.Context, o *RevokeOptions) error {
	if err := kit.Confirmed(o.Factory, o.Yes, "Revoke token "+o.Name+"?"); err != nil {
		return err
	}
	c, err := o.Factory.Conn(ctx)
	if err != nil {
		return err
	}
	if _, err := conn.Expect[struct{}](c.API.RevokeToken(ctx, o.Name)); err != nil {
		return kit.Failure{What: "the token was not revoked", Next: []string{kit.Path("token list")}}.Explain(err)
	}
	o.Factory.Term.Say("Token %s is revoked.", o.Name)
	return nil
}
