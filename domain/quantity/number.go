package quantity

import (
	"math/big"
	"regexp"
	"strconv"
	"strings"
	"unicode/utf8"

	"barrelbook/domain/refusal"
)

// maxText is room for any finite float64 written out in full; longer texts
// are not figures.
const maxText = 400

// oneSpelling folds the look-alikes that keyboards and documents produce.
var oneSpelling = strings.NewReplacer(
	"µ", "u", "μ", "u", // micro sign and Greek mu
	"″", `"`, "”", `"`, "′", "'", "’", "'",
	"º", "°", "−", "-",
)

var (
	// A sign, then a whole number with a fraction, a fraction alone, or a
	// decimal; then whatever is left, which is the unit.
	figure     = regexp.MustCompile(`^([+-]?) ?(?:(?:(\d+)[ -])?(\d+)/(\d+)|(\d+(?:\.\d+)?|\.\d+)) ?(.*)$`)
	exponent   = regexp.MustCompile(`^[eE][+-]?\d`)
	notANumber = regexp.MustCompile(`(?i)^[+-]?(?:nan|inf|infinity)(?:\W|$)`)
)

// written is a text taken apart: an exact number and the unit beside it.
type written struct {
	amount   *big.Rat
	signed   bool // a sign was written, plus or minus
	fraction bool // with a slash: 29 1/16
	unit     string
}

// takeApart splits a text into number and unit without going through binary
// fractions. It knows nothing of which units exist.
func takeApart(text string) (written, error) {
	refuse := func(limit, do string) (written, error) {
		return written{}, refusal.One("", quote(text), limit, do)
	}
	if len(text) > maxText {
		return refuse("is too long to be a figure", "give one number and its unit")
	}
	clean := strings.Join(strings.Fields(oneSpelling.Replace(text)), " ")
	if clean == "" {
		return refuse("is empty", "give a number and its unit")
	}
	if notANumber.MatchString(clean) {
		return refuse("is not a finite number", "give the figure, or leave the field out if it is not known")
	}
	if strings.Contains(clean, ",") {
		return refuse("has a comma", "use a point for decimals, and nothing between thousands")
	}
	m := figure.FindStringSubmatch(clean)
	if m == nil {
		return refuse("does not begin with a number", "give a number and its unit, as in 12.5 mm")
	}
	w := written{signed: m[1] != "", fraction: m[3] != "", unit: m[6]}
	if exponent.MatchString(w.unit) {
		return refuse("has an exponent", "write the number out in full")
	}
	if w.unit != "" && strings.ContainsRune("0123456789.+-/", rune(w.unit[0])) {
		return refuse("is not one plain number", "write it like 1234.5, without gaps, signs or a second point")
	}
	amount, ok := exactFigure(m[2], m[3], m[4], m[5])
	if !ok {
		return refuse("has a fraction with 0 below the line", "check the fraction")
	}
	if m[1] == "-" {
		amount.Neg(amount)
	}
	w.amount = amount
	return w, nil
}

// exactFigure is whole + above/below, or the decimal where there is no
// fraction. Every part is digits in base ten: big.Rat would take the leading
// zero of 010/16 for octal. It fails only on a zero below the line.
func exactFigure(whole, above, below, decimal string) (*big.Rat, bool) {
	if below == "" {
		return new(big.Rat).SetString(decimal)
	}
	a, b, w := new(big.Int), new(big.Int), new(big.Int)
	a.SetString(above, 10)
	b.SetString(below, 10)
	if b.Sign() == 0 {
		return nil, false
	}
	if whole != "" {
		w.SetString(whole, 10)
	}
	return new(big.Rat).SetFrac(a.Add(a, w.Mul(w, b)), b), true
}

// quote shows what was received, cut where it would fill the screen.
func quote(text string) string {
	const most = 40
	if len(text) <= most {
		return strconv.Quote(text)
	}
	head := text[:min(len(text), most*utf8.UTFMax)] // holds at least most characters
	if runes := []rune(head); len(runes) > most {
		return strconv.Quote(string(runes[:most])) + "…"
	}
	return strconv.Quote(text)
}
