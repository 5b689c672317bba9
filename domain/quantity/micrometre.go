package quantity

import (
	"fmt"
	"math"
	"math/big"

	"barrelbook/domain/refusal"
)

// Micrometre is a length of record, on diameter where it belongs to a roll.
// Books count in whole micrometres because binary fractions do not: in
// float64, (712.4 − 680)/0.45 is a hair below 72 and a grind is lost.
// Differences may be negative; what a person types may not.
type Micrometre int64

// MaxLength is the largest length of record, 10 m. No roll of any mill comes
// near it; a figure above it has a wrong unit or a slipped point.
const MaxLength Micrometre = 10_000_000

// LengthUnit is the unit that a bare number is read in.
type LengthUnit string

// The units a field may take for granted.
const (
	Millimetres LengthUnit = "mm"
	Micrometres LengthUnit = "um"
	Inches      LengthUnit = "in"
)

// MM is the length in millimetres: the float64 nearest to the exact decimal.
func (um Micrometre) MM() float64 { return float64(um) / 1000 }

// String prints millimetres with all three decimals: "738.412 mm".
func (um Micrometre) String() string {
	sign, size := "", uint64(um)
	if um < 0 {
		sign, size = "-", -size // wraps to the right size for the lowest int64 too
	}
	return fmt.Sprintf("%s%d.%03d mm", sign, size/1000, size%1000)
}

// InchString prints inches with five decimals: "29.07134 in". The last place
// is 0.254 µm, so the rounding (at most 0.127 µm) is less than half a
// micrometre and reading the text back gives the same length; four decimals
// would not do.
func (um Micrometre) InchString() string {
	return big.NewRat(int64(um), 25_400).FloatString(5) + " in"
}

// FromMM is the micrometre nearest to a computed length v in mm, halves away
// from zero. |v| ≤ 10 000 mm; anything beyond, NaN and the infinities are
// refused. FromMM(um.MM()) = um over that whole range.
func FromMM(v float64) (Micrometre, error) {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return 0, refusal.One("", refusal.Number(v)+" mm", "must be a finite number", "")
	}
	if math.Abs(v) > MaxLength.MM() {
		return 0, tooLong(refusal.Number(v) + " mm")
	}
	return Micrometre(math.Round(v * 1000)), nil
}

// RecordMM takes a length of record v in mm that came as a binary number. It
// refuses what FromMM does, anything below 0, and a figure finer than a
// micrometre, because the book would not hold what was sent. A thousandth of
// a micrometre is let pass: that much is the binary dust of a caller's
// subtraction (712.4 − 0.45 = 711.9499999999999), not a reading.
func RecordMM(v float64) (Micrometre, error) {
	um, err := FromMM(v)
	if err != nil {
		return 0, err
	}
	if v < 0 {
		return 0, refusal.One("", refusal.Number(v)+" mm", "must not be below 0", "")
	}
	if math.Abs(v*1000-float64(um)) > 1e-3 {
		return 0, tooFine(refusal.Number(v) + " mm")
	}
	return um, nil
}

// ParseLength reads a length of record as a person writes it: "738.412",
// "412 µm", `29.07"`, "29 1/16 in", "2ft". A bare number is in def.
//
// The decimal is taken exactly. Metric text must be whole micrometres and is
// refused when it is finer; inches and feet hardly ever are, and go to the
// nearest micrometre, halves up. Refused by name: an empty text, a sign, a
// decimal comma, an exponent, NaN, an unknown or ambiguous unit, and anything
// above MaxLength.
func ParseLength(text string, def LengthUnit) (Micrometre, error) {
	um, _, err := readLength(text, string(def))
	return um, err
}

func readLength(text, def string) (Micrometre, reading, error) {
	r, err := Length.read(text, def)
	if err != nil {
		return 0, reading{}, err
	}
	exact := new(big.Rat).Mul(r.base, big.NewRat(1000, 1))
	if r.unit.Side == MetricSide && !exact.IsInt() {
		return 0, reading{}, tooFine(quote(text))
	}
	um := Micrometre(roundHalfUp(exact))
	// After rounding: 10 m in inches is printed as a hair more than 10 m.
	if um > MaxLength {
		return 0, reading{}, tooLong(quote(text))
	}
	return um, r, nil
}

// roundHalfUp is ⌊x + 1/2⌋ for x ≥ 0 that fits an int64.
func roundHalfUp(x *big.Rat) int64 {
	twice := new(big.Int).Lsh(x.Denom(), 1)
	sum := new(big.Int).Add(new(big.Int).Lsh(x.Num(), 1), x.Denom())
	return sum.Quo(sum, twice).Int64()
}

func tooLong(value string) error {
	return refusal.One("", value, "is more than 10 m, the most a length of record may be",
		"check the unit and the decimal point")
}

func tooFine(value string) error {
	return refusal.One("", value, "is finer than a micrometre, the finest the book holds",
		"give mm with at most three decimals")
}
