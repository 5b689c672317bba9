package kit

import (
	"github.com/spf13/cobra"

	"barrelbook/client/render"
)

// Paging is the flags of every list.
type Paging struct {
	Limit  int64
	Cursor string
	All    bool
	CSV    bool
}

// AddTo adds the flags.
func (p *Paging) AddTo(cmd *cobra.Command) {
	cmd.Flags().Int64Var(&p.Limit, "limit", 50, "rows a page, at most 1000")
	cmd.Flags().StringVar(&p.Cursor, "cursor", "", "go on after the page that named this `CURSOR`")
	cmd.Flags().BoolVar(&p.All, "all", false, "every page")
	cmd.Flags().BoolVar(&p.CSV, "csv", false, "comma-separated, for a spreadsheet")
}

// Page is one page of a list, whatever is listed.
type Page[T any] struct {
	Items []T
	Next  *string
	Raw   []byte
}

// Pages reads one page, or every page when asked for all, and gives each to use.
func Pages[T any](p *Paging, fetch func(limit *int64, cursor *string) (Page[T], error), use func(Page[T]) error) error {
	limit, cursor := p.Limit, OptText(p.Cursor)
	if p.All {
		limit = max(limit, 500)
	}
	for {
		page, err := fetch(&limit, cursor)
		if err != nil {
			return err
		}
		if err := use(page); err != nil {
			return err
		}
		if cursor = page.Next; !p.All || cursor == nil {
			return nil
		}
	}
}

// List reads a list and shows it: the service's own pages, one a line, for a
// program; comma-separated rows; or a table with what to say when it is empty.
func List[T any](f *Factory, p *Paging, none string, columns []render.Column,
	fetch func(limit *int64, cursor *string) (Page[T], error), row func(T) []string) error {
	t := &render.Table{Columns: columns}
	var next *string
	err := Pages(p, fetch, func(page Page[T]) error {
		next = page.Next
		if f.JSON {
			return Raw(f, page.Raw)
		}
		for _, item := range page.Items {
			t.Add(row(item)...)
		}
		return nil
	})
	switch {
	case err != nil || f.JSON:
		return err
	case p.CSV:
		err = t.CSV(f.Term.Data())
	case len(t.Rows) == 0:
		f.Term.Say("%s", none)
	default:
		err = t.Write(f.Term)
	}
	if err == nil && next != nil && !p.All {
		f.Term.Say("There are more: add --all, or a larger --limit.")
	}
	return err
}
