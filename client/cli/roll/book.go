package roll

import (
	"context"
	"fmt"
	"strconv"

	"github.com/spf13/cobra"

	"barrelbook/client/cli/kit"
	"barrelbook/client/conn"
	"barrelbook/client/oapi"
	"barrelbook/client/render"
)

// BookOptions choose the book and the pages.
type BookOptions struct {
	Factory *kit.Factory
	kit.Paging
	Number string
}

// NewCmdBook reads a roll's book.
func NewCmdBook(f *kit.Factory, runF func(context.Context, *BookOptions) error) *cobra.Command {
	o := &BookOptions{Factory: f}
	cmd := &cobra.Command{
		Use:               "book NUMBER",
		Short:             "Read a roll's book, entry by entry, as it was written",
		Long:              "Read a roll's book, entry by entry, as it was written. An entry that was\ncorrected stays in the book and says which entry took its place.",
		Example:           kit.Example("barrelbook roll book R1234 --all"),
		Args:              kit.Args("NUMBER"),
		ValidArgsFunction: kit.Complete(f, kit.Rolls),
		RunE: func(cmd *cobra.Command, args []string) error {
			o.Number = args[0]
			if runF != nil {
				return runF(cmd.Context(), o)
			}
			return book(cmd.Context(), o)
		},
	}
	o.Paging.AddTo(cmd)
	return cmd
}

func book(ctx context.Context, o *BookOptions) error {
	u, err := o.Factory.Units()
	if err != nil {
		return err
	}
	c, err := o.Factory.Conn(ctx)
	if err != nil {
		return err
	}
	columns := []render.Column{
		{Head: "entry", Key: "entry", Right: true}, {Head: "at", Key: "at"}, {Head: "what", Key: "summary"}, {Head: "by", Key: "by"},
	}
	err = kit.List(o.Factory, &o.Paging, "There is no further entry.", columns,
		func(limit *int64, cursor *string) (kit.Page[oapi.Entry], error) {
			a, err := conn.Expect[oapi.EntryPage](c.API.ListEntries(ctx, o.Number, &oapi.ListEntriesParams{Limit: limit, Cursor: cursor}))
			return kit.Page[oapi.Entry]{Items: a.Value.Items, Next: a.Value.Next, Raw: a.Raw}, err
		},
		func(e oapi.Entry) []string {
			return []string{strconv.FormatInt(e.Number, 10), render.Time(e.At), sentence(u, e), e.By}
		})
	return kit.Failure{Next: []string{kit.Path("roll list")}}.Explain(err)
}

// sentence is an entry in words, with all that was recorded, why it was made and
// what became of it.
func sentence(u render.Units, e oapi.Entry) string {
	text := render.Words(e.Kind)
	if e.Summary != nil {
		text = *e.Summary
	}
	for _, part := range recorded(u, e) {
		text += "; " + part
	}
	if e.Reason != nil && *e.Reason != "" {
		text += ", because: " + *e.Reason
	}
	if e.ReplacedBy != nil {
		text += fmt.Sprintf(" [no longer holds: see entry %d]", *e.ReplacedBy)
	}
	return text
}
