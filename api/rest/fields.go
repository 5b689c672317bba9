package rest

import (
	"encoding/json"
	"errors"
	"fmt"
	"sort"
	"strconv"
	"strings"

	"github.com/getkin/kin-openapi/openapi3"
	"github.com/getkin/kin-openapi/openapi3filter"

	"barrelbook/api/oapi"
)

// fieldProblems turns what kin-openapi says of a request into one plain line
// for each bad field. Its own texts print the schema and are never sent.
func fieldProblems(err error, prefix string) []oapi.FieldProblem {
	var found []oapi.FieldProblem
	collect(err, prefix, &found)
	seen := map[string]bool{}
	kept := found[:0]
	for _, f := range found {
		// exclusiveMinimum and minimum both speak of one bad value.
		if !seen[f.Pointer] {
			seen[f.Pointer] = true
			kept = append(kept, f)
		}
	}
	sort.SliceStable(kept, func(i, j int) bool { return kept[i].Pointer < kept[j].Pointer })
	return kept
}

func collect(err error, prefix string, into *[]oapi.FieldProblem) {
	switch e := err.(type) {
	case nil:
	case openapi3.MultiError:
		for _, one := range e {
			collect(one, prefix, into)
		}
	case *openapi3filter.RequestError:
		collectRequest(e, prefix, into)
	case *openapi3.SchemaError:
		pointer, detail := explain(e)
		*into = append(*into, oapi.FieldProblem{Pointer: prefix + pointer, Detail: detail})
	default:
		var schema *openapi3.SchemaError
		if errors.As(err, &schema) {
			collect(schema, prefix, into)
			return
		}
		*into = append(*into, oapi.FieldProblem{Pointer: prefix, Detail: "cannot be read"})
	}
}

func collectRequest(e *openapi3filter.RequestError, prefix string, into *[]oapi.FieldProblem) {
	name := prefix
	if e.Parameter != nil {
		name = e.Parameter.Name
	}
	var parse *openapi3filter.ParseError
	switch {
	case errors.Is(e.Err, openapi3filter.ErrInvalidRequired):
		*into = append(*into, oapi.FieldProblem{Pointer: name, Detail: "is missing"})
	case errors.Is(e.Err, openapi3filter.ErrInvalidEmptyValue):
		*into = append(*into, oapi.FieldProblem{Pointer: name, Detail: "is empty; give a value or leave it out"})
	case errors.As(e.Err, &parse):
		*into = append(*into, oapi.FieldProblem{Pointer: name, Detail: parseDetail(e)})
	default:
		collect(e.Err, name, into)
	}
}

func parseDetail(e *openapi3filter.RequestError) string {
	if e.Parameter == nil || e.Parameter.Schema == nil {
		return "cannot be read"
	}
	return "must be " + kindOf(e.Parameter.Schema.Value)
}

// explain says in plain words what is wrong with one value.
func explain(e *openapi3.SchemaError) (pointer, detail string) {
	parts := e.JSONPointer()
	var escaped strings.Builder
	for _, p := range parts {
		escaped.WriteString("/" + escapePointer(p))
	}
	pointer = escaped.String()
	s := e.Schema
	switch e.SchemaField {
	case "required":
		return pointer, "is missing"
	case "properties":
		name := unsupportedName(e.Reason)
		return pointer + "/" + escapePointer(name), "is not a field here" + didYouMean(name, s)
	case "readOnly":
		return pointer, "is given by the service; leave it out"
	case "type":
		if e.Reason == "value must be an integer" {
			return pointer, show(e.Value) + " must be a whole number"
		}
		return pointer, "must be " + kindOf(s) + ", not " + show(e.Value)
	case "nullable":
		return pointer, "must not be null; leave it out instead"
	case "enum":
		return pointer, show(e.Value) + " is not one of: " + choices(s)
	case "exclusiveMinimum":
		return pointer, show(e.Value) + " must be more than " + plain(*s.Min)
	case "minimum":
		return pointer, show(e.Value) + " is below the least allowed, " + plain(*s.Min)
	case "exclusiveMaximum":
		return pointer, show(e.Value) + " must be less than " + plain(*s.Max)
	case "maximum":
		return pointer, show(e.Value) + " is above the most allowed, " + plain(*s.Max)
	case "minLength":
		return pointer, fmt.Sprintf("is too short; give at least %d characters", s.MinLength)
	case "maxLength":
		return pointer, fmt.Sprintf("is too long; at most %d characters are kept", *s.MaxLength)
	case "minItems":
		return pointer, fmt.Sprintf("must have at least %d items", s.MinItems)
	case "maxItems":
		return pointer, fmt.Sprintf("must have at most %d items", *s.MaxItems)
	case "pattern":
		if strings.Contains(s.Pattern, "a-z_.") {
			return pointer, show(e.Value) + " is not a type of event, such as entry or change.recorded"
		}
		if !strings.Contains(s.Pattern, "A-Za-z0-9") {
			return pointer, "may hold only visible ASCII characters, and no blanks"
		}
		return pointer, show(e.Value) + " may hold only letters, digits, dot, dash and underscore, and begins with a letter or digit"
	case "format":
		if s.Format == "date-time" {
			return pointer, show(e.Value) + fmt.Sprintf(" is not a time such as 2026-01-31T06:30:00Z, of the year %d or later", earliestYear)
		}
		return pointer, show(e.Value) + " is out of range"
	default:
		return pointer, "is not what the contract asks for"
	}
}

func unsupportedName(reason string) string {
	quoted := strings.TrimSuffix(strings.TrimPrefix(reason, "property "), " is unsupported")
	name, err := strconv.Unquote(quoted)
	if err != nil {
		return quoted
	}
	return name
}

// kindOf names what a schema takes.
func kindOf(s *openapi3.Schema) string {
	switch {
	case s.Type.Is(openapi3.TypeInteger):
		return "a whole number"
	case s.Type.Is(openapi3.TypeNumber):
		return "a number"
	case s.Type.Is(openapi3.TypeBoolean):
		return "true or false"
	case s.Type.Is(openapi3.TypeArray):
		return "a list"
	case s.Type.Is(openapi3.TypeObject):
		return "an object"
	default:
		return "text"
	}
}

// show prints a received value, cut where it is long.
func show(v any) string {
	switch v := v.(type) {
	case nil:
		return "null"
	case string:
		return strconv.Quote(shorten(v))
	case float64:
		return plain(v)
	case json.Number:
		return shorten(string(v))
	case bool:
		return strconv.FormatBool(v)
	case []any:
		return "a list"
	default:
		return "an object"
	}
}

// plain prints a number without an exponent where a person would.
func plain(v float64) string {
	if v != 0 && (v >= 1e15 || v <= -1e15 || v < 1e-6 && v > -1e-6) {
		return strconv.FormatFloat(v, 'g', -1, 64)
	}
	return strconv.FormatFloat(v, 'f', -1, 64)
}

func shorten(s string) string {
	const most = 60
	runes := []rune(s)
	if len(runes) <= most {
		return s
	}
	return string(runes[:most]) + "…"
}

func choices(s *openapi3.Schema) string {
	list := make([]string, len(s.Enum))
	for i, v := range s.Enum {
		list[i] = fmt.Sprint(v)
	}
	return strings.Join(list, ", ")
}

// didYouMean offers the field whose name is nearest to a misspelt one.
func didYouMean(name string, s *openapi3.Schema) string {
	best, least := "", 1+len(name)/3
	for _, known := range sortedNames(s.Properties) {
		if d := editDistance(name, known); d <= least {
			best, least = known, d-1
		}
	}
	if best == "" {
		return ""
	}
	return "; did you mean " + best + "?"
}

func sortedNames[T any](m map[string]T) []string {
	names := make([]string, 0, len(m))
	for name := range m {
		names = append(names, name)
	}
	sort.Strings(names)
	return names
}

// editDistance is Levenshtein's, over bytes: field names are ASCII.
func editDistance(a, b string) int {
	if len(a) > 80 {
		return len(a)
	}
	row := make([]int, len(b)+1)
	for j := range row {
		row[j] = j
	}
	for i := 1; i <= len(a); i++ {
		diagonal := row[0]
		row[0] = i
		for j := 1; j <= len(b); j++ {
			cost := diagonal
			if a[i-1] != b[j-1] {
				cost = 1 + min(diagonal, row[j], row[j-1])
			}
			diagonal, row[j] = row[j], cost
		}
	}
	return row[len(b)]
}

// escapePointer writes a name as a part of a JSON pointer (RFC 6901).
func escapePointer(name string) string { return pointerEscapes.Replace(name) }

var pointerEscapes = strings.NewReplacer("~", "~0", "/", "~1")
