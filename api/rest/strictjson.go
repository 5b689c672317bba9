package rest

import (
	"bytes"
	"encoding/json"
	"errors"
	"io"
	"math"
	"strconv"
	"unicode/utf8"

	"barrelbook/api/oapi"
)

// maxDepth bounds how deep a body may nest. The contract nests five deep; a
// body of a million brackets must not exhaust the stack.
const maxDepth = 32

// decodeStrict reads one JSON value for validation against the contract, and
// refuses by name what encoding/json lets pass and the contract cannot see: a
// field named twice (the last one would win over the one that was checked), a
// number that no float64 holds, text that is not UTF-8 or holds characters a
// database refuses, anything after the value. Numbers stay json.Number, whole
// ones in plain digits, so that 1.0 and 1e0 are the integer 1.
func decodeStrict(text []byte) (any, error) {
	if len(bytes.TrimSpace(text)) == 0 {
		return nil, malformed("the body is empty; send a JSON object")
	}
	if !utf8.Valid(text) {
		return nil, malformed("the body is not UTF-8 text")
	}
	d := &strictDecoder{Decoder: json.NewDecoder(bytes.NewReader(text))}
	d.UseNumber()
	value, err := d.value()
	if err != nil {
		return nil, err
	}
	if len(d.bad) > 0 {
		return nil, badFields(d.bad)
	}
	if _, err := d.Token(); err != io.EOF {
		return nil, malformed("there is something after the end of the JSON value; send one value")
	}
	return value, nil
}

type strictDecoder struct {
	*json.Decoder
	bad []oapi.FieldProblem
	// path holds the names from the root down to the value at hand. The
	// pointer is put together only for a refusal: most values are good.
	path []string
}

// refuse notes what is wrong with the value at hand.
func (d *strictDecoder) refuse(detail string) {
	pointer := "#"
	for _, name := range d.path {
		pointer += "/" + escapePointer(name)
	}
	d.bad = append(d.bad, oapi.FieldProblem{Pointer: pointer, Detail: detail})
}

func (d *strictDecoder) value() (any, error) {
	if len(d.path) > maxDepth {
		return nil, malformed("the body nests more than %d deep", maxDepth)
	}
	token, err := d.Token()
	if err != nil {
		return nil, d.notJSON(err)
	}
	switch t := token.(type) {
	case json.Delim:
		if t == '{' {
			return d.object()
		}
		return d.array()
	case json.Number:
		return d.number(t), nil
	case string:
		d.text(t)
		return t, nil
	default:
		return t, nil
	}
}

func (d *strictDecoder) object() (any, error) {
	members := map[string]any{}
	for d.More() {
		token, err := d.Token()
		if err != nil {
			return nil, d.notJSON(err)
		}
		name, _ := token.(string)
		_, twice := members[name]
		d.path = append(d.path, name)
		if twice {
			d.refuse("is given twice; give it once")
		}
		d.text(name)
		members[name], err = d.value()
		d.path = d.path[:len(d.path)-1]
		if err != nil {
			return nil, err
		}
	}
	if _, err := d.Token(); err != nil {
		return nil, d.notJSON(err)
	}
	return members, nil
}

func (d *strictDecoder) array() (any, error) {
	items := []any{}
	for d.More() {
		d.path = append(d.path, strconv.Itoa(len(items)))
		item, err := d.value()
		d.path = d.path[:len(d.path)-1]
		if err != nil {
			return nil, err
		}
		items = append(items, item)
	}
	if _, err := d.Token(); err != nil {
		return nil, d.notJSON(err)
	}
	return items, nil
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
	switch {
	case errors.Is(err, io.EOF), errors.Is(err, io.ErrUnexpectedEOF):
		return malformed("the body is not JSON: it ends too early")
	case errors.As(err, &syntax):
		return malformed("the body is not JSON at byte %d: %s", syntax.Offset, syntax.Error())
	default:
		return malformed("the body is not JSON")
	}
}
