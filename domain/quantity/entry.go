package quantity

import "barrelbook/domain/refusal"

// Entry reads the fields of one entry of a book, or of one command, and
// gathers what is wrong with them. At the end it refuses an entry that mixes
// metric and imperial units, because that is how a wrong unit gets in: with
// bare numbers read as mm, "found 29.07 in, ground 28.95" would lose a roll.
// A bare number therefore counts as being in the entry's system. Time counts
// for neither side.
type Entry struct {
	System System // that bare numbers are read in

	fields  []entryField
	refused []refusal.Field
}

type entryField struct {
	path, text string
	unit       string
	side       Side
	bare       bool
}

// Length reads a length of record.
func (e *Entry) Length(path, text string) Micrometre {
	um, r, err := readLength(text, string(e.System.LengthUnit()))
	if err != nil {
		e.refuse(path, err)
		return 0
	}
	e.fields = append(e.fields, entryField{path, text, r.unit.Name, r.unit.Side, r.bare})
	return um
}

// Value reads any other quantity, in d's base unit.
func (e *Entry) Value(path, text string, d *Dimension) float64 {
	r, err := d.Parse(text, e.System)
	if err != nil {
		e.refuse(path, err)
		return 0
	}
	e.fields = append(e.fields, entryField{path, text, r.Unit, r.Side, r.Bare})
	return r.Value
}

// Err is nil when every field was read and all keep to one side. What the
// readers gave must not be used otherwise.
func (e *Entry) Err() error {
	refused := append([]refusal.Field(nil), e.refused...)
	if f, mixed := e.mixed(); mixed {
		refused = append(refused, f)
	}
	if len(refused) == 0 {
		return nil
	}
	return &refusal.Error{Fields: refused}
}

// mixed finds the first field that is on another side than one before it.
func (e *Entry) mixed() (refusal.Field, bool) {
	var first *entryField
	for i := range e.fields {
		f := &e.fields[i]
		switch {
		case f.side == NeitherSide:
		case first == nil:
			first = f
		case f.side != first.side:
			return refusal.Field{
				Path: f.path, Value: quote(f.text),
				Limit: f.understood() + ", but " + first.path + " " + quote(first.text) + " " + first.understood(),
				Do:    "write every figure of one entry in metric or every one in imperial units, and name the unit",
			}, true
		}
	}
	return refusal.Field{}, false
}

func (f *entryField) understood() string {
	if f.bare {
		return "names no unit and is taken as " + f.unit
	}
	return "is " + f.side.String() + " (" + f.unit + ")"
}

// refuse puts the field's path on a refusal that did not know it. Every error
// of this package's readers is a refusal; the fuzzers hold them to it.
func (e *Entry) refuse(path string, err error) {
	for _, f := range refusal.FieldsOf(err) {
		f.Path = path
		e.refused = append(e.refused, f)
	}
}
