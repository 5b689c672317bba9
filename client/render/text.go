package render

import (
	"fmt"
	"io"
	"strings"
	"unicode/utf8"
)

// Bullets prints a titled list, or nothing when there is nothing to say.
func Bullets(w io.Writer, title string, items []string) {
	if len(items) == 0 {
		return
	}
	fmt.Fprintln(w, title)
	for _, item := range items {
		fmt.Fprintln(w, "  - "+item)
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

// Write prints the facts.
func (f Facts) Write(w io.Writer) {
	widest := 0
	for _, fact := range f {
		widest = max(widest, utf8.RuneCountInString(fact[0]))
	}
	for _, fact := range f {
		pad := strings.Repeat(" ", widest-utf8.RuneCountInString(fact[0]))
		fmt.Fprintln(w, fact[0]+pad+"  "+fact[1])
	}
}

// Join is a list in a sentence: "F1, F2 and F3".
func Join(items []string) string {
	if len(items) < 2 {
		return strings.Join(items, "")
	}
	return strings.Join(items[:len(items)-1], ", ") + " and " + items[len(items)-1]
}
