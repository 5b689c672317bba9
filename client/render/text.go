package render

import (
	"strings"

	"barrelbook/client/term"
)

// Bullets prints a titled list, or nothing when there is nothing to say.
func Bullets(s *term.Streams, title string, items []string) {
	if len(items) == 0 {
		return
	}
	s.Print("%s", title)
	for _, item := range items {
		s.Print("  - %s", item)
	}
}

// Facts are lines of a name and what it is, the names padded to one width.
type Facts [][2]string

// Add appends a fact; an empty value is left out.
func (f *Facts) Add(name, value string) {
	if value != "" {
		*f = append(*f, [2]string{name, value})
	}
}

// Write prints the facts; a value that is longer than the line goes on under its
// beginning.
func (f Facts) Write(s *term.Streams) {
	widest := 0
	for _, fact := range f {
		widest = max(widest, term.Cells(fact[0]))
	}
	for _, fact := range f {
		line := fact[0] + strings.Repeat(" ", widest-term.Cells(fact[0])) + gap
		under := widest + len(gap)
		if under+longestWord(fact[1]) > s.Width() { // a word that has room only below
			s.Block(strings.TrimRight(line, " ") + "\n")
			under = 2 + len(fact[0]) - len(strings.TrimLeft(fact[0], " "))
			line = strings.Repeat(" ", under)
		}
		for i, part := range term.Wrap(s.Local(fact[1]), s.Width()-under, 0) {
			if i > 0 {
				line = strings.Repeat(" ", under)
			}
			s.Block(line + part + "\n")
		}
	}
}

// Join is a list in a sentence: "F1, F2 and F3".
func Join(items []string) string {
	if len(items) < 2 {
		return strings.Join(items, "")
	}
	return strings.Join(items[:len(items)-1], ", ") + " and " + items[len(items)-1]
}
