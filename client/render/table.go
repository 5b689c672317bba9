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

	"barrelbook/client/term"
	"barrelbook/domain/sheet"
)

// Column is one column of a table.
type Column struct {
	Head  string // as people read it, with its unit: "diameter, mm"
	Key   string // as programs read it: "diameter_mm"
	Right bool   // numbers stand under each other
	// Spare is the order in which columns give way where the screen is narrow, the
	// greatest first. Defaults to 0, which stays.
	Spare int
}

// Spared is the column with its turn to give way.
func (c Column) Spared(turn int) Column {
	c.Spare = turn
	return c
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

// Write prints the table for people, without the columns that are empty all the
// way down and those that the screen has no room for. A table without rows prints
// nothing: what to say then is for the caller to know.
func (t *Table) Write(s *term.Streams) error {
	if len(t.Rows) == 0 {
		return nil
	}
	t = t.filled().local(s)
	t, left, fits := t.fitted(s.Width() - len(t.Indent))
	s.LeftOut(left)
	if !fits {
		t.stacked(s)
		return nil
	}
	text, err := t.text()
	for line := range strings.Lines(text) {
		s.Block(strings.TrimRight(t.Indent+line, " \n") + "\n")
	}
	return err
}

// gap is the space between columns.
const gap = "  "

// text lays out what fits.
func (t *Table) text() (string, error) {
	var text strings.Builder
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
		tablewriter.WithPadding(tw.Padding{Left: "", Right: gap, Overwrite: true}),
		tablewriter.WithHeaderAutoFormat(tw.Off),
		tablewriter.WithHeaderAutoWrap(tw.WrapNone),
		tablewriter.WithRowAutoWrap(tw.WrapNone),
		tablewriter.WithAlignment(aligned),
		tablewriter.WithHeaderAlignmentConfig(tw.CellAlignment{PerColumn: aligned}),
	)
	out.Header(heads)
	if err := out.Bulk(t.Rows); err != nil {
		return "", err
	}
	err := out.Render()
	return text.String(), err
}

// stacked prints each row as facts, where even the columns that stay do not fit
// beside one another.
func (t *Table) stacked(s *term.Streams) {
	for i, row := range t.Rows {
		if i > 0 {
			s.Block("\n")
		}
		facts := Facts{}
		for c, cell := range row {
			facts.Add(t.Indent+t.Columns[c].Head, cell)
		}
		facts.Write(s)
	}
}

// filled is the table without its empty columns.
func (t *Table) filled() *Table {
	return t.without(func(c int) bool {
		return !slices.ContainsFunc(t.Rows, func(row []string) bool { return row[c] != "" })
	})
}

// local is the table with its moments in the person's zone, which the heading of a
// column names where it is the same for all of it.
func (t *Table) local(s *term.Streams) *Table {
	out := t.without(func(int) bool { return false })
	for c := range out.Columns {
		cells := make([]string, len(out.Rows))
		for r, row := range out.Rows {
			cells[r] = row[c]
		}
		cells, zone := s.LocalColumn(cells)
		if zone != "" {
			out.Columns[c].Head += ", " + zone
		}
		for r, row := range out.Rows {
			row[c] = s.Local(cells[r])
		}
	}
	return out
}

// without is the table without the columns that leave tells.
func (t *Table) without(leave func(c int) bool) *Table {
	short := &Table{Indent: t.Indent, Rows: make([][]string, len(t.Rows))}
	for c, column := range t.Columns {
		if leave(c) {
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
	for _, row := range t.Rows {
		cells := make([]string, len(row))
		for i, text := range row {
			cells[i] = sheet.Cell(text)
		}
		out.Write(cells)
	}
	out.Flush()
	return out.Error()
}
