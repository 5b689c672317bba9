package set

import (
	"context"

	"github.com/spf13/cobra"

	"barrelbook/client/cli/kit"
	"barrelbook/client/conn"
	"barrelbook/client/oapi"
)

// BuildOptions is a pairing as typed.
type BuildOptions struct {
	Factory *kit.Factory
	kit.Recording
	Top, Bottom, Name, Note string
}

// NewCmdBuild pairs two rolls.
func NewCmdBuild(f *kit.Factory, runF func(context.Context, *BuildOptions) error) *cobra.Command {
	o := &BuildOptions{Factory: f}
	cmd := &cobra.Command{
		Use:     "build TOP BOTTOM",
		Short:   "Pair two rolls into a set",
		Example: kit.Example("barrelbook set build R1234 R1235", "barrelbook set build R1234 R1235 --name S81"),
		Args:    kit.Args("TOP", "BOTTOM"),
		ValidArgsFunction: func(cmd *cobra.Command, args []string, typed string) ([]string, cobra.ShellCompDirective) {
			if len(args) > 1 {
				return nil, cobra.ShellCompDirectiveNoFileComp
			}
			return kit.Complete(f, kit.Rolls)(cmd, nil, typed)
		},
		RunE: func(cmd *cobra.Command, args []string) error {
			o.Top, o.Bottom = args[0], args[1]
			if runF != nil {
				return runF(cmd.Context(), o)
			}
			return build(cmd.Context(), o)
		},
	}
	cmd.Flags().StringVar(&o.Name, "name", "", "what to call the set; a name is made when left out")
	cmd.Flags().StringVar(&o.Note, "note", "", "a remark")
	o.Recording.AddTo(cmd, true)
	return cmd
}

func build(ctx context.Context, o *BuildOptions) error {
	const what = "the set was not built"
	at, err := o.Moment(o.Factory)
	if err != nil {
		return kit.Failure{What: what}.Explain(err)
	}
	c, err := o.Factory.Conn(ctx)
	if err != nil {
		return err
	}
	dry, key := o.Params()
	a, err := conn.Expect[oapi.Set](c.API.BuildSet(ctx, &oapi.BuildSetParams{DryRun: dry, IdempotencyKey: key},
		oapi.SetInput{Top: o.Top, Bottom: o.Bottom, Name: kit.OptText(o.Name), Note: kit.OptText(o.Note), At: at}))
	if err != nil {
		return kit.Failure{What: what,
			Flag: map[string]string{"top": "TOP", "bottom": "BOTTOM", "name": "--name", "note": "--note", "at": "--at"},
			Next: []string{kit.Path("regrind advise %s   (lists the rolls it could pair with)", o.Top)}}.Explain(err)
	}
	return shown(o.Factory, a, &o.Recording, "Set "+a.Value.Name+" is built.")
}
