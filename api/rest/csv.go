package rest

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"slices"
	"strings"

	"github.com/getkin/kin-openapi/openapi3"

	"barrelbook/domain/sheet"
)

// columnsDeep is how deep members are looked for to make columns of.
const columnsDeep = 4

// asTable writes the rows of an answer as comma-separated values (RFC 4180): a
// column for each member that holds one value or a list of such, by its path. They
// are those of the contract, whatever the rows hold, or those that are named.
func asTable(text []byte, rows string, schema *openapi3.Schema, parts part) ([]byte, error) {
	var answer map[string]json.RawMessage
	if err := json.Unmarshal(text, &answer); err != nil {
		return nil, err
	}
	d := json.NewDecoder(bytes.NewReader(answer[rows]))
	d.UseNumber()
	var items []any
	if err := d.Decode(&items); err != nil {
		return nil, err
	}
	columns := columnsOf(schema, parts, nil, columnsDeep)
	var out bytes.Buffer
	w := csv.NewWriter(&out)
	w.UseCRLF = true
	heads := make([]string, len(columns))
	for i, c := range columns {
		heads[i] = strings.Join(c, ".")
	}
	if err := w.Write(heads); err != nil {
		return nil, err
	}
	for _, item := range items {
		cells := make([]string, len(columns))
		for i, c := range columns {
			cells[i] = cellAt(item, c)
		}
		if err := w.Write(cells); err != nil {
			return nil, err
		}
	}
	w.Flush()
	return out.Bytes(), w.Error()
}

// columnsOf are the paths of the members that a cell can hold: those that must be
// there first, in the order of the contract.
func columnsOf(schema *openapi3.Schema, parts part, path []string, deep int) (columns [][]string) {
	if deep == 0 {
		return nil
	}
	names := slices.Clone(schema.Required)
	for _, name := range sortedNames(schema.Properties) {
		if !slices.Contains(names, name) {
			names = append(names, name)
		}
	}
	for _, name := range names {
		below, named := parts[name]
		p := schema.Properties[name]
		if len(parts) > 0 && !named || p == nil {
			continue
		}
		here := append(slices.Clone(path), name)
		switch of := p.Value; {
		case of.Type.Is("object"):
			columns = append(columns, columnsOf(of, below, here, deep-1)...)
		case of.Type.Is("array") && (of.Items.Value.Type.Is("object") || of.Items.Value.Type.Is("array")):
			// No cell holds it.
		default:
			columns = append(columns, here)
		}
	}
	return columns
}

func cellAt(value any, path []string) string {
	for _, name := range path {
		members, ok := value.(map[string]any)
		if !ok {
			return ""
		}
		value = members[name]
	}
	switch v := value.(type) {
	case string:
		return sheet.Cell(v)
	case json.Number:
		return v.String()
	case bool:
		if v {
			return "true"
		}
		return "false"
	case []any:
		texts := make([]string, len(v))
		for i, one := range v {
			texts[i] = strings.TrimPrefix(cellAt(one, nil), "'")
		}
		return sheet.Cell(strings.Join(texts, " "))
	}
	return ""
}
