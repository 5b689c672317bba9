package quantity

import (
	"fmt"
	"math/big"
	"strconv"
	"strings"

	"barrelbook/domain/refusal"
)

// Side is the family a unit belongs to; one entry keeps to one.
type Side int

// A minute belongs to neither family.
const (
	NeitherSide Side = iota
	MetricSide
	ImperialSide
)

func (s Side) String() string {
	return [...]string{"neither", "metric", "imperial"}[s]
}

// Unit is one way to write a quantity. Exactly,
//
//	value in the base unit = (amount + shift) · factor
type Unit struct {
	Name string
	Side Side

	factor    *big.Rat
	shift     *big.Rat // nil for none; only temperatures have one
	spellings []string // besides Name
	// exactCase bars other capitals: a small m in front of N or Pa would be
	// a milli, a thousand million times less.
	exactCase bool
}

// Dimension is one kind of quantity with all its units: the table that both
// reading and printing go by.
type Dimension struct {
	name string
	base string // the unit values are kept in, as in the wire's field names
	// perSystem is the unit of a bare number and of reports, by System.
	perSystem [systemCount]string
	digits    int  // significant digits in reports
	signed    bool // may be below zero
	low, high int64
	units     []Unit
	// ask answers units that people write but that do not say enough.
	ask map[string]string
}

// Reading is a quantity that was read from text.
type Reading struct {
	Value float64 // in the dimension's base unit: the float64 nearest to the exact product
	Unit  string  // the unit it was written in, or taken to be in
	Side  Side
	Bare  bool // the text named no unit
}

// reading is a Reading before it becomes binary.
type reading struct {
	base *big.Rat
	unit *Unit
	bare bool
}

// Base is the unit that values are kept in: "kN".
func (d *Dimension) Base() string { return d.base }

// Parse reads a number with its unit: "1000 long tonf", "40 mph", "650 °C". A
// bare number is in the unit that sys reports this quantity in. The decimal
// and the factor are exact; the only rounding is to the float64 at the end.
// Refused by name: what is no plain number, a sign where the quantity has
// none, a unit that is unknown or has two meanings ("ton"), a value outside
// the dimension's plausible range.
func (d *Dimension) Parse(text string, sys System) (Reading, error) {
	r, err := d.read(text, d.perSystem[sys])
	if err != nil {
		return Reading{}, err
	}
	v, _ := r.base.Float64()
	return Reading{Value: v, Unit: r.unit.Name, Side: r.unit.Side, Bare: r.bare}, nil
}

// Exact prints v in the base unit with the digits it takes to read the very
// same float64 back. v must be finite.
func (d *Dimension) Exact(v float64) string {
	return strconv.FormatFloat(v, 'f', -1, 64) + " " + d.base
}

func (d *Dimension) read(text, def string) (reading, error) {
	w, err := takeApart(text)
	if err != nil {
		return reading{}, err
	}
	refuse := func(limit, do string) (reading, error) {
		return reading{}, refusal.One("", quote(text), limit, do)
	}
	if w.signed && !d.signed {
		return refuse("has a sign", "a "+d.name+" is written without one")
	}
	r := reading{bare: w.unit == ""}
	if r.bare {
		w.unit = def
	}
	if do, ok := d.ask[strings.ToLower(w.unit)]; ok {
		return refuse(fmt.Sprintf("does not say which unit is meant by %q", w.unit), do)
	}
	if r.unit = d.find(w.unit); r.unit == nil {
		return refuse(fmt.Sprintf("has %s, which is no unit of %s here", quote(w.unit), d.name), "use "+d.choices())
	}
	if w.fraction && r.unit.Side != ImperialSide {
		return refuse("has a fraction, which is read only with inches and the like", "write it as a decimal")
	}
	r.base = r.unit.toBase(w.amount)
	if r.base.Cmp(big.NewRat(d.low, 1)) < 0 || r.base.Cmp(big.NewRat(d.high, 1)) > 0 {
		return refuse(fmt.Sprintf("must lie between %d and %d %s", d.low, d.high, d.base),
			"check the unit and the decimal point")
	}
	return r, nil
}

// find prefers the spelling as given and then any capitals: "KN" and "IN" are
// what some keyboards in a shop produce.
func (d *Dimension) find(spelling string) *Unit {
	spelling = oneSpelling.Replace(spelling)
	for i := range d.units {
		if u := &d.units[i]; u.spelt(spelling, func(a, b string) bool { return a == b }) {
			return u
		}
	}
	for i := range d.units {
		if u := &d.units[i]; !u.exactCase && u.spelt(spelling, strings.EqualFold) {
			return u
		}
	}
	return nil
}

func (d *Dimension) choices() string {
	names := make([]string, len(d.units))
	for i, u := range d.units {
		names[i] = u.Name
	}
	return strings.Join(names[:len(names)-1], ", ") + " or " + names[len(names)-1]
}

func (u *Unit) spelt(s string, same func(a, b string) bool) bool {
	if same(oneSpelling.Replace(u.Name), s) {
		return true
	}
	for _, other := range u.spellings {
		if same(other, s) {
			return true
		}
	}
	return false
}

func (u *Unit) toBase(amount *big.Rat) *big.Rat {
	v := new(big.Rat).Set(amount)
	if u.shift != nil {
		v.Add(v, u.shift)
	}
	return v.Mul(v, u.factor)
}

func (u *Unit) fromBase(v *big.Rat) *big.Rat {
	amount := new(big.Rat).Quo(v, u.factor)
	if u.shift != nil {
		amount.Sub(amount, u.shift)
	}
	return amount
}
