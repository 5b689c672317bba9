package kit

import (
	"github.com/spf13/cobra"

	"barrelbook/client/paper"
	"barrelbook/domain/drawing"
)

// Paper is the flag of a command whose answer can be printed as a card.
type Paper struct{ PDF string }

// AddTo adds --pdf.
func (p *Paper) AddTo(cmd *cobra.Command, what string) {
	cmd.Flags().StringVar(&p.PDF, "pdf", "", "make "+what+" in this `FILE` too, as PDF; one that is there is replaced")
}

// Write makes the page where the flag was given, and says so. Times in it are the
// reader's.
func (p *Paper) Write(f *Factory, page paper.Page) error {
	page.Made = f.Now()
	for i, fact := range page.Facts {
		page.Facts[i][1] = f.Term.Local(fact[1])
	}
	for _, list := range append([][]string{page.Reasons, page.Cautions}, rowsOf(page.Tables)...) {
		for i, text := range list {
			list[i] = f.Term.Local(text)
		}
	}
	return Into(f, p.PDF, page.Write)
}

func rowsOf(tables []paper.Table) (rows [][]string) {
	for _, t := range tables {
		rows = append(rows, t.Rows...)
	}
	return rows
}

// Pictures lays panels out for a page, one picture each; what cannot be drawn yet
// is left out.
func Pictures(panels []drawing.Panel) (list []drawing.Picture) {
	for _, p := range panels {
		if picture, err := (drawing.Sheet{Title: p.Title, Panels: []drawing.Panel{p}, Width: 520}).Layout(); err == nil {
			list = append(list, picture)
		}
	}
	return list
}
