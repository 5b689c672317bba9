package kit

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"barrelbook/client/oapi"
	"barrelbook/domain/quantity"
)

// Entry reads the quantities that were typed for one entry, and refuses a mix
// of metric and imperial figures. Fields are named by their flags.
type Entry struct {
	read    quantity.Entry
	unclear []error
}

// NewEntry begins an entry in the units the person works in.
func NewEntry(f *Factory) (*Entry, error) {
	u, err := f.Units()
	if err != nil {
		return nil, err
	}
	return &Entry{read: quantity.Entry{System: u.System}}, nil
}

// Length reads a length of record, in mm.
func (e *Entry) Length(flag, text string) float64 { return e.read.Length(flag, text).MM() }

// OptLength is Length for a flag that may be left out.
func (e *Entry) OptLength(flag, text string) *float64 {
	if text == "" {
		return nil
	}
	v := e.Length(flag, text)
	return &v
}

// OptValue reads any other quantity, in the dimension's base unit, from a
// flag that may be left out.
func (e *Entry) OptValue(flag, text string, d *quantity.Dimension) *float64 {
	if text == "" {
		return nil
	}
	v := e.read.Value(flag, text, d)
	return &v
}

// OptSmall reads a crown, a taper or a run-out, in µm. A bare figure below 1 may
// as well be millimetres and needs its unit.
func (e *Entry) OptSmall(flag, text string) *float64 { return e.small(flag, text, 1) }

// OptCrack reads the depth of a crack, in µm. Micrometres and millimetres are
// both plausible of a bare figure below 50.
func (e *Entry) OptCrack(flag, text string) *float64 { return e.small(flag, text, 50) }

func (e *Entry) small(flag, text string, plainFrom float64) *float64 {
	if bare, err := strconv.ParseFloat(strings.TrimSpace(text), 64); err == nil && bare != 0 && math.Abs(bare) < plainFrom {
		e.unclear = append(e.unclear, fmt.Errorf("%s %q could be of two units: write %smm or %sµm (or thou, or in)", flag, text, strings.TrimSpace(text), strings.TrimSpace(text)))
		return nil
	}
	return e.OptValue(flag, text, quantity.Crown)
}

// Stations reads diameters along the barrel, PLACE:DIAMETER each, the place in
// mm from the drive-side end.
func (e *Entry) Stations(flag string, typed []string) *[]oapi.Station {
	if len(typed) == 0 {
		return nil
	}
	var list []oapi.Station
	for _, text := range typed {
		place, diameter, both := strings.Cut(text, ":")
		if !both {
			e.unclear = append(e.unclear, fmt.Errorf("%s %q does not say where and how much; write it like 100:642.250,950:642.330", flag, text))
			return nil
		}
		list = append(list, oapi.Station{AtMm: e.Length(flag, place), DiameterMm: e.Length(flag, diameter)})
	}
	return &list
}

// Err is nil when everything was read and nothing is mixed.
func (e *Entry) Err() error {
	if len(e.unclear) > 0 {
		return &Input{Err: e.unclear[0]}
	}
	if err := e.read.Err(); err != nil {
		return &Input{Err: err}
	}
	return nil
}

// OptText is nil for a text that was left out.
func OptText(text string) *string {
	if text == "" {
		return nil
	}
	return &text
}

// OptTrue is nil for what was not asked for.
func OptTrue(is bool) *bool {
	if !is {
		return nil
	}
	return &is
}

// OptWord is nil for a word of the contract that was left out.
func OptWord[T ~string](word string) *T {
	if word == "" {
		return nil
	}
	t := T(word)
	return &t
}

// OptList is nil for a list that was left out.
func OptList(items []string) *[]string {
	if len(items) == 0 {
		return nil
	}
	return &items
}
