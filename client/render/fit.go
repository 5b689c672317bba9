package render

import (
	"slices"
	"strings"

	"barrelbook/client/term"
)

// comfortable is the width below which a column of text is no pleasure to read:
// columns that can be spared go before another one becomes so narrow.
const comfortable = 22

// fitted is the table in at most width places, its texts wrapped between words;
// false where not even the columns that stay can be had beside one another. First
// headings are wrapped, then texts; then columns are spared, one after the other,
// whose headings are given back.
func (t *Table) fitted(width int) (fits *Table, left []string, ok bool) {
	for {
		for _, floor := range []func(c int) int{t.cells, t.words(comfortable)} {
			if widths, ok := t.shrunk(width, floor); ok {
				return t.wrapped(widths), left, true
			}
		}
		spare := slices.MaxFunc(t.Columns, func(a, b Column) int { return a.Spare - b.Spare }).Spare
		if spare == 0 {
			break
		}
		last := len(t.Columns) - 1
		for t.Columns[last].Spare != spare {
			last--
		}
		left = append(left, t.Columns[last].Head)
		t = t.without(func(c int) bool { return c == last })
	}
	widths, ok := t.shrunk(width, t.words(0))
	if !ok {
		return t, left, false
	}
	return t.wrapped(widths), left, true
}

// shrunk takes from the widest columns until the table fits, each down to its
// floor and to the longest word of its heading.
func (t *Table) shrunk(width int, floor func(c int) int) ([]int, bool) {
	widths, least := make([]int, len(t.Columns)), make([]int, len(t.Columns))
	total := len(gap) * (len(t.Columns) - 1)
	for c := range t.Columns {
		widths[c] = max(t.cells(c), term.Cells(t.Columns[c].Head))
		least[c] = max(floor(c), longestWord(t.Columns[c].Head))
		total += widths[c]
	}
	for total > width {
		widest := -1
		for c := range widths {
			if widths[c] > least[c] && (widest < 0 || widths[c] > widths[widest]) {
				widest = c
			}
		}
		if widest < 0 {
			return nil, false
		}
		widths[widest]--
		total--
	}
	return widths, true
}

// cells is the width of the widest cell of a column.
func (t *Table) cells(c int) (widest int) {
	for _, row := range t.Rows {
		widest = max(widest, term.Cells(row[c]))
	}
	return widest
}

// words is the floor of columns that may be wrapped: the longest word, and no less
// than what is comfortable where there is more. Figures are not wrapped.
func (t *Table) words(comfortable int) func(c int) int {
	return func(c int) int {
		full := t.cells(c)
		if t.Columns[c].Right {
			return full
		}
		word := 0
		for _, row := range t.Rows {
			word = max(word, longestWord(row[c]))
		}
		return max(word, min(full, comfortable))
	}
}

func longestWord(text string) (longest int) {
	for _, word := range term.Unbroken(text) {
		longest = max(longest, term.Cells(word))
	}
	return longest
}

// wrapped puts line breaks into what is wider than its column.
func (t *Table) wrapped(widths []int) *Table {
	out := &Table{Indent: t.Indent, Columns: slices.Clone(t.Columns), Rows: make([][]string, len(t.Rows))}
	broken := func(text string, c int) string { return strings.Join(term.Wrap(text, widths[c], 0), "\n") }
	for c := range out.Columns {
		out.Columns[c].Head = broken(t.Columns[c].Head, c)
	}
	for r, row := range t.Rows {
		out.Rows[r] = make([]string, len(row))
		for c := range row {
			out.Rows[r][c] = broken(row[c], c)
		}
	}
	return out
}
