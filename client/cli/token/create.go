package token

import (
	"context"

	"github.com/spf13/cobra"

	"barrelbook/client/cli/kit"
	"barrelbook/client/conn"
	"barrelbook/client/oapi"
	"barrelbook/client/render"
)

// CreateOptions is a token as asked for.
type CreateOptions struct {
	Factory             *kit.Factory
	Name, Role, Expires string
	Mills               []string
}

// NewCmdCreate makes a token.
func NewCmdCreate(f *kit.Factory, runF func(context.Context, *CreateOptions) error) *cobra.Command {
	o := &CreateOptions{Factory: f}
	cmd := &cobra.Command{
		Use:   "create NAME",
		Short: "Make a token; its secret is printed once and never again",
		Example: kit.Example("barrelbook token create grinder-2 --role grinder > grinder-2.token",
			"barrelbook token create level2 --role feeder --mills hot --expires 2027-01-01"),
		Args: kit.Args("NAME"),
		RunE: func(cmd *cobra.Command, args []string) error {
			o.Name = args[0]
			if runF != nil {
				return runF(cmd.Context(), o)
			}
			return create(cmd.Context(), o)
		},
	}
	kit.Word(cmd, &o.Role, "role", "", "what its holder may do", []string{"feeder", "viewer", "grinder", "shift", "engineer", "admin"})
	cmd.Flags().StringVar(&o.Expires, "expires", "", "when it ends (`TIME`: 2027-01-01); 365 days from now when left out")
	cmd.Flags().StringSliceVar(&o.Mills, "mills", nil, "it may record in these `MILLS` alone, with commas between; all when left out")
	kit.CompleteFlag(f, cmd, "mills", kit.Mills)
	kit.Require(cmd, "role")
	return cmd
}

func create(ctx context.Context, o *CreateOptions) error {
	const what = "the token was not made"
	expires, err := kit.OptTime(o.Factory, "--expires", o.Expires)
	if err != nil {
		return kit.Failure{What: what}.Explain(err)
	}
	c, err := o.Factory.Conn(ctx)
	if err != nil {
		return err
	}
	in := oapi.TokenInput{Name: o.Name, Role: oapi.AccessRole(o.Role), ExpiresAt: expires}
	if len(o.Mills) > 0 {
		in.Mills = &o.Mills
	}
	a, err := conn.Expect[oapi.TokenSecret](c.API.CreateToken(ctx, in))
	if err != nil {
		return kit.Failure{What: what, Flag: map[string]string{"name": "NAME", "role": "--role", "mills": "--mills", "expires_at": "--expires"},
			Next: []string{kit.Path("token list")}}.Explain(err)
	}
	err = kit.Show(o.Factory, a, func(t oapi.TokenSecret) error { o.Factory.Term.Print("%s", t.Secret); return nil })
	if err == nil {
		o.Factory.Term.Say("Token %s for the role %s until %s. It is shown this once: keep it where only its holder can read it.",
			a.Value.Token.Name, a.Value.Token.Role, render.Time(a.Value.Token.ExpiresAt))
	}
	return err
}
