package token

import (
	"context"
	"time"

	"github.com/spf13/cobra"

	"barrelbook/client/cli/kit"
	"barrelbook/client/conn"
	"barrelbook/client/oapi"
	"barrelbook/client/render"
)

// RotateOptions choose the token.
type RotateOptions struct {
	Factory       *kit.Factory
	Name, Expires string
	KeepOld       time.Duration
}

// NewCmdRotate gives a token a new secret.
func NewCmdRotate(f *kit.Factory, runF func(context.Context, *RotateOptions) error) *cobra.Command {
	o := &RotateOptions{Factory: f}
	cmd := &cobra.Command{
		Use:     "rotate NAME",
		Short:   "Give a token a new secret; whoever it stands for stays the same",
		Example: kit.Example("barrelbook token rotate level2 --keep-old 1h > level2.token"),
		Args:    kit.Args("NAME"),
		RunE: func(cmd *cobra.Command, args []string) error {
			o.Name = args[0]
			if runF != nil {
				return runF(cmd.Context(), o)
			}
			return rotate(cmd.Context(), o)
		},
	}
	cmd.Flags().StringVar(&o.Expires, "expires", "", "when it ends (`TIME`: 2027-01-01); 365 days from now when left out")
	cmd.Flags().DurationVar(&o.KeepOld, "keep-old", 0, "how long the old secret is taken beside the new one; at most 168h")
	return cmd
}

func rotate(ctx context.Context, o *RotateOptions) error {
	const what = "the token was not rotated"
	expires, err := kit.OptTime(o.Factory, "--expires", o.Expires)
	if err != nil {
		return kit.Failure{What: what}.Explain(err)
	}
	c, err := o.Factory.Conn(ctx)
	if err != nil {
		return err
	}
	seconds := int64(o.KeepOld / time.Second)
	a, err := conn.Expect[oapi.TokenSecret](c.API.RotateToken(ctx, o.Name, oapi.TokenRotationInput{ExpiresAt: expires, KeepOldSecretS: &seconds}))
	if err != nil {
		return kit.Failure{What: what, Flag: map[string]string{"expires_at": "--expires", "keep_old_secret_s": "--keep-old"}, Next: []string{kit.Path("token list")}}.Explain(err)
	}
	err = kit.Show(o.Factory, a, func(t oapi.TokenSecret) error { o.Factory.Term.Print("%s", t.Secret); return nil })
	if err == nil {
		o.Factory.Term.Say("Token %s has a new secret until %s. It is shown this once: keep it where only its holder can read it.", o.Name, render.Time(a.Value.Token.ExpiresAt))
	}
	return err
}
