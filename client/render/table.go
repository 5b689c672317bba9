// Package render turns the service's answers into text for people: tables
// with the unit in each header, sentences, and plots drawn in characters.
package render

import (
	"encoding/csv"
	"fmt"
	"io"
	"slices"
	"strings"

	"github.com/olekukonko/tablewriter"
	"github.com/olekukonko/tablewriter/renderer"
	"github.com/olekukonko/tablewriter/tw"
)

// Column is one column of a table.
type Column struct {
	Head  string // as people read it, with its unit: "diameter, mm"
	Key   string // as programs read it: "diameter_mm"
	Right bool   // numbers stand under each other
}

// Table is rows under headings.
type Table struct {
	Columns []Column
	Rows    [][]string
	// Indent stands before each line of text. Defaults to none.
	Indent string
}

// Add appends a row; it must have a cell for each column.
func (t *Table) Add(cells ...string) {
	if len(cells) != len(t.Columns) {
		panic(fmt.Sprintf("render: %d cells for %d columns", len(cells), len(t.Columns)))
	}
	t.Rows = append(t.Rows, cells)
}

// Write prints the table for people, without the columns that are empty all
// the way down. A table without rows prints nothing: what to say then is for
// the caller to know.
func (t *Table) Write(w io.Writer) error {
	if len(t.Rows) == 0 {
		return nil
	}
	t = t.filled()
	var text strings.Builder
	gap := tw.Padding{Left: "", Right: "  ", Overwrite: true}
	aligned := make([]tw.Align, len(t.Columns))
	heads := make([]string, len(t.Columns))
	for i, c := range t.Columns {
		aligned[i], heads[i] = tw.AlignLeft, c.Head
		if c.Right {
			aligned[i] = tw.AlignRight
		}
	}
	out := tablewriter.NewTable(&text,
		tablewriter.WithRenderer(renderer.NewBlueprint(tw.Rendition{
			Borders:  tw.BorderNone,
			Settings: tw.Settings{Separators: tw.SeparatorsNone, Lines: tw.LinesNone},
		})),
		tablewriter.WithPadding(gap),
		tablewriter.WithHeaderAutoFormat(tw.Off),
		tablewriter.WithHeaderAutoWrap(tw.WrapNone),
		tablewriter.WithRowAutoWrap(tw.WrapNone),
		tablewriter.WithAlignment(aligned),
		tablewriter.WithHeaderAlignmentConfig(tw.CellAlignment{PerColumn: aligned}),
	)
	out.Header(heads)
	if err := out.Bulk(t.Rows); err != nil {
		return err
	}
	if err := out.Render(); err != nil {
		return err
	}
	for line := range strings.Lines(text.String()) {
		if _, err := fmt.Fprintln(w, strings.TrimRight(t.Indent+line, " \n")); err != nil {
			return err
		}
	}
	return nil
}

// filled is the table without its empty columns.
func (t *Table) filled() *Table {
	short := &Table{Indent: t.Indent, Rows: make([][]string, len(t.Rows))}
	for c, column := range t.Columns {
		if !slices.ContainsFunc(t.Rows, func(row []string) bool { return row[c] != "" }) {
			continue
		}
		short.Columns = append(short.Columns, column)
		for r, row := range t.Rows {
			short.Rows[r] = append(short.Rows[r], row[c])
		}
	}
	return short
}

// CSV prints the table for programs, under the columns' keys.
func (t *Table) CSV(w io.Writer) error {
	out := csv.NewWriter(w)
	keys := make([]string, len(t.Columns))
	for i, c := range t.Columns {
		keys[i] = c.Key
	}
	out.Write(keys)
	out.WriteAll(t.Rows)
	return out.Error()
}
