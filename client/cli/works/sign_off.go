package works

import (
	"context"
	"fmt"

	"github.com/spf13/cobra"

	"barrelbook/client/cli/kit"
	"barrelbook/client/conn"
	"barrelbook/client/oapi"
	"barrelbook/client/render"
)

// SignOffOptions is what is said with it.
type SignOffOptions struct {
	Factory *kit.Factory
	Note    string
	kit.Recording
}

// NewCmdSignOff signs the works off.
func NewCmdSignOff(f *kit.Factory, runF func(context.Context, *SignOffOptions) error) *cobra.Command {
	o := &SignOffOptions{Factory: f}
	cmd := &cobra.Command{
		Use:   "sign-off",
		Short: "Sign the whole works off as it is, and note the hash",
		Long: `Sign the whole works off as it is: every table with the number of its rows and what
they say, in a chain. What is taken away or changed later past barrelbook is found by
verify. Note the hash outside the books: given to verify --signed it also shows an
older copy of the books, or a chain that was made anew.`,
		Example: kit.Example(`barrelbook works sign-off --note "end of March"`),
		Args:    kit.Args(),
		RunE: func(cmd *cobra.Command, _ []string) error {
			if runF != nil {
				return runF(cmd.Context(), o)
			}
			return signOff(cmd.Context(), o)
		},
	}
	cmd.Flags().StringVar(&o.Note, "note", "", "what is said with it")
	o.Recording.AddKeyTo(cmd)
	return cmd
}

func signOff(ctx context.Context, o *SignOffOptions) error {
	c, err := o.Factory.Conn(ctx)
	if err != nil {
		return err
	}
	a, err := conn.Expect[oapi.SignOff](c.API.SignOffWorks(ctx, &oapi.SignOffWorksParams{IdempotencyKey: o.KeyParam()}, oapi.SignOffInput{Note: kit.OptText(o.Note)}))
	if err != nil {
		return kit.Failure{What: "the works was not signed off", Flag: map[string]string{"note": "--note"}}.Explain(err)
	}
	return kit.Show(o.Factory, a, func(s oapi.SignOff) error {
		o.Factory.Term.Print("The works is signed off: number %d, %d rows. Note its hash outside the books:\n%s", s.Number, s.RowCount, s.Hash)
		return nil
	})
}

// SignOffsOptions choose the page.
type SignOffsOptions struct {
	Factory *kit.Factory
	kit.Paging
}

// NewCmdSignOffs lists the sign-offs.
func NewCmdSignOffs(f *kit.Factory, runF func(context.Context, *SignOffsOptions) error) *cobra.Command {
	o := &SignOffsOptions{Factory: f}
	cmd := &cobra.Command{
		Use:   "sign-offs",
		Short: "List the sign-offs of the works, newest first",
		Args:  kit.Args(),
		RunE: func(cmd *cobra.Command, _ []string) error {
			if runF != nil {
				return runF(cmd.Context(), o)
			}
			return signOffs(cmd.Context(), o)
		},
	}
	o.Paging.AddTo(cmd)
	return cmd
}

func signOffs(ctx context.Context, o *SignOffsOptions) error {
	c, err := o.Factory.Conn(ctx)
	if err != nil {
		return err
	}
	columns := []render.Column{{Head: "no.", Key: "number"}, {Head: "at", Key: "at"}, {Head: "by", Key: "by"}, {Head: "rows", Key: "row_count"}, {Head: "hash", Key: "hash"}, {Head: "note", Key: "note"}}
	return kit.List(o.Factory, &o.Paging, "The works was never signed off: `works sign-off` does it.", columns,
		func(limit *int64, cursor *string) (kit.Page[oapi.SignOff], error) {
			a, err := conn.Expect[oapi.SignOffPage](c.API.ListSignOffs(ctx, &oapi.ListSignOffsParams{Limit: limit, Cursor: cursor}))
			return kit.Page[oapi.SignOff]{Items: a.Value.Items, Next: a.Value.Next, Raw: a.Raw}, err
		},
		func(s oapi.SignOff) []string {
			return []string{fmt.Sprint(s.Number), render.Time(s.At), s.By, fmt.Sprint(s.RowCount), s.Hash, render.Opt(s.Note)}
		})
}
