package calc

import (
	"bytes"
	"encoding/json"
	"fmt"
	"slices"
	"strings"

	"barrelbook/client/render"
	"barrelbook/client/term"
)

// member is one field of an object, in the order in which it was sent.
type member struct {
	name  string
	value json.RawMessage
}

func members(raw json.RawMessage) ([]member, error) {
	dec := json.NewDecoder(bytes.NewReader(raw))
	if t, err := dec.Token(); err != nil || t != json.Delim('{') {
		return nil, fmt.Errorf("not an object: %.40s", raw)
	}
	var list []member
	for dec.More() {
		name, err := dec.Token()
		if err != nil {
			return nil, err
		}
		var value json.RawMessage
		if err := dec.Decode(&value); err != nil {
			return nil, err
		}
		list = append(list, member{name.(string), value})
	}
	return list, nil
}

// askedLists are the lists of a question that its answer answers one by one:
// without the minutes a column of temperatures says little.
var askedLists = []string{"minutes", "survival_at"}

// printResult shows any model's answer to a question: single values first, then
// lists of equal length side by side, then tables, then what the answer warns
// of. The unit of each stands with its name.
func printResult(t *term.Streams, question, raw json.RawMessage) error {
	fields, err := members(raw)
	if err != nil {
		return err
	}
	var (
		facts   render.Facts
		columns []member
		later   []func()
		last    []func() // what the answer warns of
	)
	asked, _ := members(question) // where it is no object there is nothing to add
	for _, f := range asked {
		if slices.Contains(askedLists, f.name) && f.value[0] == '[' {
			columns = append(columns, flattened(f)...)
		}
	}
	for _, f := range fields {
		switch kind := f.value[0]; {
		case kind == '{':
			inner, err := members(f.value)
			if err != nil {
				return err
			}
			if isList(inner) {
				later = append(later, func() { sideBySide(t, f.name, inner) })
				continue
			}
			for _, m := range inner {
				facts.Add(label(f.name+" "+m.name), scalar(m.value))
			}
		case kind != '[':
			facts.Add(label(f.name), scalar(f.value))
		case f.name == "warnings" || f.name == "notes":
			last = append(last, func() { render.Bullets(t, "\n"+strings.ToUpper(f.name[:1])+f.name[1:]+":", texts(f.value)) })
		case isObjects(f.value):
			later = append(later, func() { rowsOf(t, f) })
		default:
			columns = append(columns, f)
		}
	}
	facts.Write(t)
	if len(columns) > 0 {
		sideBySide(t, "", columns)
	}
	for _, show := range append(later, last...) {
		show()
	}
	return nil
}

// flattened makes one list for each field of a list of objects; a list of plain
// values is one already.
func flattened(f member) []member {
	if !isObjects(f.value) {
		return []member{f}
	}
	var lists []member
	values := map[string][]json.RawMessage{}
	for _, e := range elements(f.value) {
		row, err := members(e)
		if err != nil {
			return nil
		}
		for _, m := range row {
			if _, seen := values[m.name]; !seen {
				lists = append(lists, member{name: m.name})
			}
			values[m.name] = append(values[m.name], m.value)
		}
	}
	for i := range lists {
		lists[i].value, _ = json.Marshal(values[lists[i].name])
	}
	return lists
}

// fieldUnits are the units that the contract ends its names with, the longer
// endings first.
var fieldUnits = []struct{ ending, unit string }{
	{"_um_per_km", "µm/km"}, {"_n_per_mm", "N/mm"}, {"_mm", "mm"}, {"_um", "µm"}, {"_mpa", "MPa"}, {"_n", "N"},
	{"_min", "min"}, {"_c", "°C"}, {"_rad", "rad"}, {"_km", "km"},
}

// label makes words of a field's name, its unit apart: "half width, mm".
func label(name string) string {
	unit := ""
	for _, u := range fieldUnits {
		if short, ok := strings.CutSuffix(name, u.ending); ok {
			name, unit = short, ", "+u.unit
			break
		}
	}
	return strings.ReplaceAll(name, "_", " ") + unit
}

// scalar prints a value: text without quotes, a number to six digits.
func scalar(raw json.RawMessage) string {
	var text string
	if json.Unmarshal(raw, &text) == nil {
		return text
	}
	var v float64
	if json.Unmarshal(raw, &v) == nil {
		return render.Number(v, 6)
	}
	return string(raw)
}

func elements(raw json.RawMessage) []json.RawMessage {
	var list []json.RawMessage
	if json.Unmarshal(raw, &list) != nil {
		return nil
	}
	return list
}

func texts(raw json.RawMessage) (lines []string) {
	for _, e := range elements(raw) {
		lines = append(lines, scalar(e))
	}
	return lines
}

func isList(inner []member) bool {
	for _, m := range inner {
		if m.value[0] != '[' {
			return false
		}
	}
	return len(inner) > 0
}

func isObjects(raw json.RawMessage) bool {
	list := elements(raw)
	return len(list) > 0 && list[0][0] == '{'
}

// sideBySide prints lists of equal length as columns.
func sideBySide(t *term.Streams, title string, lists []member) {
	table := render.Table{}
	longest := 0
	for _, l := range lists {
		table.Columns = append(table.Columns, render.Column{Head: label(l.name), Right: true, Spare: len(table.Columns)})
		longest = max(longest, len(elements(l.value)))
	}
	for i := range longest {
		row := make([]string, len(lists))
		for k, l := range lists {
			if list := elements(l.value); i < len(list) {
				row[k] = scalar(list[i])
			}
		}
		table.Add(row...)
	}
	section(t, title, table)
}

// rowsOf prints a list of objects as a table, what a row is about before its
// numbers.
func rowsOf(t *term.Streams, f member) {
	var names []string
	number := map[string]bool{}
	var all [][]member
	for _, e := range elements(f.value) {
		row, err := members(e)
		if err != nil {
			continue
		}
		for _, m := range row {
			if _, seen := number[m.name]; !seen {
				names = append(names, m.name)
				number[m.name] = m.value[0] != '"' && m.value[0] != '['
			}
		}
		all = append(all, row)
	}
	slices.SortStableFunc(names, func(a, b string) int { return rank(a, number[a]) - rank(b, number[b]) })
	table := render.Table{}
	for _, name := range names {
		table.Columns = append(table.Columns, render.Column{Head: label(name), Right: number[name], Spare: len(table.Columns)})
	}
	for _, row := range all {
		cells := make([]string, len(names))
		for _, m := range row {
			at := slices.Index(names, m.name)
			cells[at] = scalar(m.value)
			if m.value[0] == '[' {
				cells[at] = strings.Join(texts(m.value), " ")
			}
		}
		table.Add(cells...)
	}
	section(t, f.name, table)
}

// rank is where a column stands: the names, the numbers, where they are from.
func rank(name string, number bool) int {
	switch {
	case name == "source" || name == "stands":
		return 2
	case number:
		return 1
	default:
		return 0
	}
}

func section(t *term.Streams, title string, table render.Table) {
	if len(table.Rows) == 0 {
		return
	}
	t.Print("")
	if title != "" {
		t.Print("%s:", label(title))
	}
	table.Write(t)
}
