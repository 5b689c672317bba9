package term

import (
	"regexp"
	"strings"

	"github.com/olekukonko/tablewriter/pkg/twwidth"
)

// Cells is how many places of a line a text takes: colour takes none, a wide
// character two.
func Cells(text string) int { return twwidth.Width(text) }

// Wrap parts a line between words so that no part is longer than width, each
// part after the first behind as many spaces as hang. A word is never broken: one
// that is longer than the width stands alone and stays as long as it is. A line
// that fits comes back as it is.
func Wrap(line string, width, hang int) []string {
	if Cells(line) <= width {
		return []string{line}
	}
	body := strings.TrimLeft(line, " ")
	indent := line[:len(line)-len(body)]
	var lines []string
	now, room := indent, strings.Repeat(" ", hang)
	for _, word := range Unbroken(body) {
		switch blank := strings.TrimLeft(now, " ") == ""; {
		case blank:
			now += word
		case Cells(now)+1+Cells(word) <= width:
			now += " " + word
		default:
			lines = append(lines, now)
			now = room + word
		}
	}
	return append(lines, now)
}

var (
	figure = regexp.MustCompile(`^[(\[<>≤≥±+-]*\d[\d.,:/-]*$`)
	unit   = regexp.MustCompile(`^(mm|µm|um|cm|m|km|t|kg|kg/t|kN|kNm|MPa|GPa|%|‰|h|min|s|in|ft|thou|rpm|N/mm|µm/km|lbf/in|ksi|tonf|tons?|K|°C|°|m/s|mm²|Ra|short|long)[.,;:)\]]*$`)
)

// Unbroken are the words of a text, a figure and its unit as one: a line that ends
// between them is read wrongly. So are a date and its time of day.
func Unbroken(text string) []string {
	var words []string
	for word := range strings.FieldsSeq(text) {
		if n := len(words); n > 0 && together(words[n-1], word) {
			words[n-1] += " " + word
			continue
		}
		words = append(words, word)
	}
	return words
}

func together(before, word string) bool {
	last := before[strings.LastIndexByte(before, ' ')+1:]
	if !figure.MatchString(last) {
		return false
	}
	date := len(last) == len("2006-01-02") && strings.Count(last, "-") == 2
	return unit.MatchString(word) || date && strings.Contains(word, ":")
}

// wrapAll wraps every line of a text; what is listed hangs behind its dash.
func wrapAll(text string, width int) string {
	if width <= 0 {
		return text
	}
	var lines []string
	for line := range strings.SplitSeq(text, "\n") {
		body := strings.TrimLeft(line, " ")
		hang := len(line) - len(body)
		if strings.HasPrefix(body, "- ") {
			hang += 2
		}
		lines = append(lines, Wrap(line, width, hang)...)
	}
	return strings.Join(lines, "\n")
}
