// Package quantity holds the lengths of record, and reads and prints every
// quantity in the units that people in a mill use.
//
// Conversions are exact rational numbers built from the definitions:
//
//	1 in = 25.4 mm, 1 ft = 12 in, 1 mi = 5280 ft, 1 lb = 0.45359237 kg
//	(international yard and pound agreement of 1959; NIST SP 811, appendix B,
//	quoted from memory)
//	g_n = 9.80665 m/s² (standard gravity, 3rd General Conference on Weights
//	and Measures, 1901)
//	short ton = 2000 lb, long ton = 2240 lb; a tonf is the weight of its ton
//	under g_n
//	0 °C = 273.15 K; °F = 9/5 °C + 32
//
// Each dimension has one table. Its base unit is the one that the contract's
// field names carry.
package quantity

import "math/big"

// exact multiplies decimals or fractions without rounding.
func exact(factors ...string) *big.Rat {
	product := big.NewRat(1, 1)
	for _, f := range factors {
		r, ok := new(big.Rat).SetString(f)
		if !ok {
			panic("quantity: bad factor in a table: " + f)
		}
		product.Mul(product, r)
	}
	return product
}

const (
	poundKG       = "0.45359237"
	gravity       = "9.80665" // m/s²
	shortTonLB    = "2000"
	longTonLB     = "2240"
	inchMM        = "25.4"
	perInch       = "10/254"    // per mm
	perSquareInch = "100/64516" // per mm²
	perThousand   = "1/1000"
)

// Length is a thickness, a width or a barrel length in mm. Lengths of record
// use its units through ParseLength.
var Length = &Dimension{
	name: "length", base: "mm", perSystem: [...]string{"mm", "in", "in"},
	digits: 5, low: 0, high: 1_000_000,
	units: []Unit{
		{Name: "mm", Side: MetricSide, factor: exact("1")},
		{Name: "µm", Side: MetricSide, factor: exact(perThousand), spellings: []string{"micron", "microns"}},
		{Name: "cm", Side: MetricSide, factor: exact("10")},
		{Name: "m", Side: MetricSide, factor: exact("1000")},
		{Name: "in", Side: ImperialSide, factor: exact(inchMM), spellings: []string{`"`, "inch", "inches"}},
		{Name: "thou", Side: ImperialSide, factor: exact(inchMM, perThousand)},
		{Name: "ft", Side: ImperialSide, factor: exact(inchMM, "12"), spellings: []string{"'", "foot", "feet"}},
	},
	ask: map[string]string{"mil": askMil, "mils": askMil},
}

// Crown is a crown or a depth of wear in µm on diameter; it may be negative.
var Crown = &Dimension{
	name: "crown", base: "µm", perSystem: [...]string{"µm", "in", "in"},
	digits: 3, signed: true, low: -20_000, high: 20_000,
	units: []Unit{
		{Name: "µm", Side: MetricSide, factor: exact("1"), spellings: []string{"micron", "microns"}},
		{Name: "mm", Side: MetricSide, factor: exact("1000")},
		{Name: "in", Side: ImperialSide, factor: exact(inchMM, "1000"), spellings: []string{`"`, "inch", "inches"}},
		{Name: "thou", Side: ImperialSide, factor: exact(inchMM)},
	},
	ask: map[string]string{"mil": askMil, "mils": askMil},
}

const askMil = "say 'thou' for a thousandth of an inch, or 'mm'"

// RolledLength is what has run under a roll, in km.
var RolledLength = &Dimension{
	name: "rolled length", base: "km", perSystem: [...]string{"km", "ft", "ft"},
	digits: 4, low: 0, high: 10_000_000,
	units: []Unit{
		{Name: "km", Side: MetricSide, factor: exact("1")},
		{Name: "m", Side: MetricSide, factor: exact(perThousand)},
		{Name: "ft", Side: ImperialSide, factor: exact(inchMM, "12", "1/1000000"), spellings: []string{"'", "foot", "feet"}},
		{Name: "mi", Side: ImperialSide, factor: exact(inchMM, "12", "5280", "1/1000000"), spellings: []string{"mile", "miles"}},
	},
}

// Mass is in t.
var Mass = &Dimension{
	name: "mass", base: "t", perSystem: [...]string{"t", "short ton", "long ton"},
	digits: 4, low: 0, high: 1_000_000_000,
	units: []Unit{
		{Name: "t", Side: MetricSide, factor: exact("1"), spellings: []string{"tonne", "tonnes"}},
		{Name: "kg", Side: MetricSide, factor: exact(perThousand)},
		{Name: "lb", Side: ImperialSide, factor: exact(poundKG, perThousand), spellings: []string{"lbs"}},
		{Name: "short ton", Side: ImperialSide, factor: exact(shortTonLB, poundKG, perThousand), spellings: []string{"short tons"}},
		{Name: "long ton", Side: ImperialSide, factor: exact(longTonLB, poundKG, perThousand), spellings: []string{"long tons"}},
	},
	ask: map[string]string{"ton": askTon, "tons": askTon},
}

const askTon = "say 't' for 1000 kg, 'short ton' for 2000 lb or 'long ton' for 2240 lb"

// Speed is in m/s.
var Speed = &Dimension{
	name: "speed", base: "m/s", perSystem: [...]string{"m/s", "mph", "mph"},
	digits: 4, low: 0, high: 1_000,
	units: []Unit{
		{Name: "m/s", Side: MetricSide, factor: exact("1")},
		{Name: "m/min", Side: MetricSide, factor: exact("1/60")},
		{Name: "mph", Side: ImperialSide, factor: exact(inchMM, perThousand, "12", "5280", "1/3600")},
		{Name: "ft/min", Side: ImperialSide, factor: exact(inchMM, perThousand, "12", "1/60"), spellings: []string{"fpm"}},
	},
}

// Temperature is a temperature, not a difference of two, in °C.
var Temperature = &Dimension{
	name: "temperature", base: "°C", perSystem: [...]string{"°C", "°F", "°F"},
	digits: 4, signed: true, low: -273, high: 5_000,
	units: []Unit{
		{Name: "°C", Side: MetricSide, factor: exact("1"), spellings: []string{"C", "deg C", "degC"}},
		{Name: "K", Side: MetricSide, factor: exact("1"), shift: exact("-273.15")},
		{Name: "°F", Side: ImperialSide, factor: exact("5/9"), shift: exact("-32"), spellings: []string{"F", "deg F", "degF"}},
	},
}

// Time is in min, the same in every system.
var Time = &Dimension{
	name: "time", base: "min", perSystem: [...]string{"min", "min", "min"},
	digits: 4, low: 0, high: 100_000_000,
	units: []Unit{
		{Name: "min", factor: exact("1"), spellings: []string{"mins", "minutes"}},
		{Name: "s", factor: exact("1/60"), spellings: []string{"sec", "seconds"}},
		{Name: "h", factor: exact("60"), spellings: []string{"hr", "hours"}},
		{Name: "d", factor: exact("1440"), spellings: []string{"day", "days"}},
	},
}
