// Package refusal holds the one shape in which the domain says no to an
// input: which field, what was received, what the limit is, and what to do.
// The outer layers turn Path into a JSON pointer or a flag's name; nothing in
// here knows of either.
package refusal

import (
	"errors"
	"fmt"
	"math"
	"strconv"
	"strings"

	"barrelbook/domain/next"
)

// Field is one input that cannot be taken.
type Field struct {
	// Path names the field as the contract does, levels and indices parted by
	// a slash: "strip_load/x_mm/3". Empty when no single field is at fault.
	Path string
	// Value is what was received, with its unit where it has one.
	Value string
	// Limit is the rule that it breaks: "must be greater than 0".
	Limit string
	// Do is what the person at the terminal can do about it. May be empty
	// where the limit says it all.
	Do string
	// Next are operations that do it, where there are such.
	Next []next.Step
}

// String is the sentence a person reads.
func (f Field) String() string {
	var b strings.Builder
	if f.Path != "" {
		b.WriteString(f.Path)
		b.WriteString(" ")
	}
	if f.Value != "" {
		b.WriteString(f.Value)
		b.WriteString(" ")
	}
	b.WriteString(f.Limit)
	if f.Do != "" {
		b.WriteString("; ")
		b.WriteString(f.Do)
	}
	return b.String()
}

// Error is a refusal with at least one field.
type Error struct{ Fields []Field }

func (e *Error) Error() string {
	lines := make([]string, len(e.Fields))
	for i, f := range e.Fields {
		lines[i] = f.String()
	}
	return strings.Join(lines, "\n")
}

// Steps are the ways on of all fields.
func (e *Error) Steps() (steps []next.Step) {
	for _, f := range e.Fields {
		steps = append(steps, f.Next...)
	}
	return steps
}

// FieldsOf gives the fields of the refusal inside err, or nil when err is of
// another kind.
func FieldsOf(err error) []Field {
	var e *Error
	if errors.As(err, &e) {
		return e.Fields
	}
	return nil
}

// One is a refusal of a single field.
func One(path, value, limit, do string, steps ...next.Step) error {
	return &Error{Fields: []Field{{Path: path, Value: value, Limit: limit, Do: do, Next: steps}}}
}

// Check gathers refusals, so that a person hears of every bad field at once.
// The zero value is ready to use.
type Check struct{ fields []Field }

// Add notes one refusal.
func (c *Check) Add(path, value, limit, do string, steps ...next.Step) {
	c.fields = append(c.fields, Field{Path: path, Value: value, Limit: limit, Do: do, Next: steps})
}

// Finite refuses NaN and the infinities.
func (c *Check) Finite(path string, v float64) bool {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		c.Add(path, Number(v), "must be a finite number", "")
		return false
	}
	return true
}

// Positive refuses anything that is not a finite number above zero.
func (c *Check) Positive(path string, v float64) bool {
	if !c.Finite(path, v) {
		return false
	}
	if v <= 0 {
		c.Add(path, Number(v), "must be greater than 0", "")
		return false
	}
	return true
}

// NotNegative refuses anything that is not a finite number of at least zero.
func (c *Check) NotNegative(path string, v float64) bool {
	if !c.Finite(path, v) {
		return false
	}
	if v < 0 {
		c.Add(path, Number(v), "must not be below 0", "")
		return false
	}
	return true
}

// Within refuses anything that is not a finite number in [low, high].
func (c *Check) Within(path string, v, low, high float64) bool {
	if !c.Finite(path, v) {
		return false
	}
	if v < low || v > high {
		c.Add(path, Number(v), fmt.Sprintf("must lie between %s and %s", Number(low), Number(high)), "")
		return false
	}
	return true
}

// Err is nil when nothing was refused.
func (c *Check) Err() error {
	if len(c.fields) == 0 {
		return nil
	}
	return &Error{Fields: c.fields}
}

// Number prints v the short way, as a person typed it.
func Number(v float64) string { return strconv.FormatFloat(v, 'g', -1, 64) }
