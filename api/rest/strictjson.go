package rest

import (
	"encoding/json"
	"errors"
	"io"
	"math"
	"net/http"
	"slices"
	"strconv"

	"github.com/getkin/kin-openapi/openapi3"
	"github.com/oapi-codegen/runtime"

	"barrelbook/api/oapi"
)

// maxDepth bounds how deep a body may nest. The contract nests five deep; a
// body of a million brackets must not exhaust the stack.
const maxDepth = 32

// decodeStrict reads one JSON value and holds it against a schema of the
// contract. It refuses by name what encoding/json lets pass and the schema cannot
// see: a field named twice (the last one would win over the one that was
// checked), a number that no float64 holds, text that is not UTF-8 or holds
// characters a database refuses, anything after the value. Numbers stay
// json.Number, whole ones in plain digits, so that 1.0 and 1e0 are the integer 1.
//
// A list is refused at its first item too many, before the rest is read, and a
// long list is checked item by item and kept as text (see table): what a caller
// can make the service hold is in proportion to what the contract takes, not to
// what was sent.
func decodeStrict(text io.Reader, schema *openapi3.Schema) (strictBody, error) {
	plain := &utf8Reader{from: text}
	d := &strictDecoder{Decoder: json.NewDecoder(plain)}
	d.UseNumber()
	value, err := d.value(schema, false)
	if plain.bad {
		return strictBody{}, malformed("the body is not UTF-8 text")
	}
	if err != nil && err != errEnough {
		return strictBody{}, err
	}
	bad := d.bad
	if len(bad) == 0 {
		bad = d.wrong
		if err == nil { // else fields that were not read would count as missing
			bad = append(bad, schemaProblems(schema, value, "#")...)
		}
	}
	if len(bad) > 0 {
		// What was read is given all the same: it may name what is refused.
		return strictBody{value: value}, badFields(onePerPointer(bad))
	}
	if _, next := d.Token(); next != io.EOF {
		return strictBody{}, malformed("there is something after the end of the JSON value; send one value")
	}
	for _, t := range d.tables {
		t.in[t.name] = t.text
	}
	return strictBody{value: value, hasTables: len(d.tables) > 0}, nil
}

// strictBody is a value that a request may bring.
type strictBody struct {
	value     any
	hasTables bool // some lists are kept as text
}

// canonical is the value with sorted names and plain numbers.
func (b strictBody) canonical() ([]byte, error) { return json.Marshal(b.value) }

// bind fills a generated type. Names are matched to the letter.
func (b strictBody) bind(into any) error {
	if !b.hasTables {
		return runtime.BindJSONValue(b.value, into)
	}
	// That cannot read text inside a value. To encoding/json a name in other
	// letters is the same, but the schema has let none through.
	text, err := b.canonical()
	if err != nil {
		return err
	}
	return json.Unmarshal(text, into)
}

// errEnough ends the reading of a body that has been refused for good.
var errEnough = errors.New("enough is known to refuse it")

type strictDecoder struct {
	*json.Decoder
	bad   []oapi.FieldProblem // what no value may be
	wrong []oapi.FieldProblem // items of tables that are not as their schema says
	// path holds the names from the root down to the value at hand. The
	// pointer is put together only for a refusal: most values are good.
	path   []string
	tables []table
}

func (d *strictDecoder) pointer() string {
	pointer := "#"
	for _, name := range d.path {
		pointer += "/" + escapePointer(name)
	}
	return pointer
}

// refuse notes what is wrong with the value at hand.
func (d *strictDecoder) refuse(detail string) {
	d.bad = append(d.bad, oapi.FieldProblem{Pointer: d.pointer(), Detail: detail})
}

// value reads a value that a schema describes, or that none does: nil. A field of
// an object may be a *table.
func (d *strictDecoder) value(schema *openapi3.Schema, field bool) (any, error) {
	if len(d.path) > maxDepth {
		return nil, malformed("the body nests more than %d deep", maxDepth)
	}
	token, err := d.Token()
	if err != nil {
		if err == io.EOF && len(d.path) == 0 {
			return nil, malformed("the body is empty; send a JSON object")
		}
		return nil, d.notJSON(err)
	}
	switch t := token.(type) {
	case json.Delim:
		if t == '{' {
			return d.object(schema)
		}
		return d.array(schema, field)
	case json.Number:
		return d.number(t), nil
	case string:
		d.text(t)
		return t, nil
	default:
		return t, nil
	}
}

func (d *strictDecoder) object(schema *openapi3.Schema) (any, error) {
	members := map[string]any{}
	if schema == nil || len(schema.Properties)+len(schema.AllOf) == 0 {
		return members, d.skip(1) // no object belongs here
	}
	for d.More() {
		token, err := d.Token()
		if err != nil {
			return members, d.notJSON(err)
		}
		if len(d.bad) > mostBad {
			return members, errEnough
		}
		name, _ := token.(string)
		_, twice := members[name]
		d.path = append(d.path, name)
		if twice {
			d.refuse("is given twice; give it once")
		}
		d.text(name)
		member := propertyOf(schema, name)
		switch {
		case member != nil:
			members[name], err = d.value(member, true)
		case len(members) > mostBad:
			err = errEnough // unknown names are told one by one, but not for ever
			d.refuse("is not a field here")
		default:
			// No field here: its name is told, and what it holds is not kept.
			members[name], err = nil, d.skip(0)
		}
		if items, ok := members[name].(*table); ok {
			items.in, items.name = members, name
			d.tables = append(d.tables, *items)
			members[name] = items.first
		}
		d.path = d.path[:len(d.path)-1]
		if err != nil {
			return members, err
		}
	}
	if _, err := d.Token(); err != nil {
		return members, d.notJSON(err)
	}
	return members, nil
}

// propertyOf is the schema of a field, nil where there is no such field.
func propertyOf(schema *openapi3.Schema, name string) *openapi3.Schema {
	if schema == nil {
		return nil
	}
	if p := schema.Properties[name]; p != nil {
		return p.Value
	}
	for _, part := range schema.AllOf {
		if p := propertyOf(part.Value, name); p != nil {
			return p
		}
	}
	return nil
}

// skip passes over what is left of a value that is so many brackets deep.
func (d *strictDecoder) skip(depth int) error {
	for {
		token, err := d.Token()
		if err != nil {
			return d.notJSON(err)
		}
		switch token {
		case json.Delim('{'), json.Delim('['):
			depth++
		case json.Delim('}'), json.Delim(']'):
			depth--
		}
		if depth == 0 {
			return nil
		}
		if len(d.path)+depth > maxDepth {
			return malformed("the body nests more than %d deep", maxDepth)
		}
	}
}

// number refuses what overflows a float64 and writes each number in one way
// only: whole ones up to 2⁵³ in plain digits, others by the shortest digits that
// give the same float64. Longer whole numbers stay as they are for an int64.
func (d *strictDecoder) number(n json.Number) json.Number {
	v, err := n.Float64()
	if err != nil || math.IsInf(v, 0) {
		d.refuse(shorten(string(n)) + " is too large a number")
		return "0"
	}
	if v == math.Trunc(v) && math.Abs(v) <= 1<<53 {
		return json.Number(strconv.FormatInt(int64(v), 10))
	}
	if _, err := n.Int64(); err == nil {
		return n
	}
	return json.Number(strconv.FormatFloat(v, 'g', -1, 64))
}

// text refuses control characters other than the white space of a note.
// PostgreSQL stores no NUL, and the others would garble a terminal.
func (d *strictDecoder) text(s string) {
	for _, r := range s {
		if r < ' ' && r != '\n' && r != '\t' && r != '\r' || r == 0x7f {
			d.refuse("holds a control character; send plain text")
			return
		}
	}
}

func (d *strictDecoder) notJSON(err error) error {
	var syntax *json.SyntaxError
	var size *http.MaxBytesError
	switch {
	case errors.As(err, &size):
		return err
	case errors.Is(err, io.EOF), errors.Is(err, io.ErrUnexpectedEOF):
		return malformed("the body is not JSON: it ends too early")
	case errors.As(err, &syntax):
		return malformed("the body is not JSON at byte %d: %s", syntax.Offset, syntax.Error())
	default:
		return malformed("the body ended before it was read")
	}
}

// onePerPointer leaves one problem of each place: the first items of a table are
// held against the schema twice.
func onePerPointer(fields []oapi.FieldProblem) []oapi.FieldProblem {
	seen := map[string]bool{}
	return slices.DeleteFunc(fields, func(f oapi.FieldProblem) bool {
		twice := seen[f.Pointer]
		seen[f.Pointer] = true
		return twice
	})
}
