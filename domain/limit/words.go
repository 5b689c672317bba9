package limit

import (
	"math"
	"strconv"
	"strings"
)

// Number prints a figure with four significant digits.
func Number(v float64) string { return strconv.FormatFloat(v, 'g', 4, 64) }

// Grouped prints a figure with so many decimals and commas at thousands.
func Grouped(v float64, decimals int) string {
	s := strconv.FormatFloat(math.Abs(v), 'f', decimals, 64)
	whole, rest, _ := strings.Cut(s, ".")
	for i := len(whole) - 3; i > 0; i -= 3 {
		whole = whole[:i] + "," + whole[i:]
	}
	if rest != "" {
		whole += "." + rest
	}
	if v < 0 {
		return "-" + whole
	}
	return whole
}

// Value prints a figure with the unit of its kind.
func (k *Kind) Value(v float64) string {
	decimals := k.Decimals
	if decimals == 0 && math.Abs(v) < 10 && v != math.Trunc(v) {
		decimals = 2 // a whole number would say too little
	}
	number := Grouped(v, decimals)
	switch k.Unit {
	case "of 1":
		return number
	case "µm Ra":
		return "Ra " + number + " µm"
	}
	return number + " " + k.Unit
}

// Reaches says what a roll does to its limit.
func (k *Kind) Reaches(roll string, limit float64, groove int) string {
	if k.Ends != nil {
		return k.Ends(roll, k.Value(limit), groove)
	}
	return roll + " reaches " + k.Value(limit) + " " + k.Words
}

// IsPast says that a roll has passed its limit.
func (k *Kind) IsPast(roll string, limit, now float64, groove int) string {
	if groove > 0 {
		roll = "groove " + strconv.Itoa(groove) + " of " + roll
	}
	return roll + " is already past its " + k.Value(limit) + " " + k.Noun + " limit: " + k.Value(now)
}

// Over says how a figure stands to its limit.
func (k *Kind) Over(limit, v float64) string {
	way := "above"
	if v < limit {
		way = "below"
	}
	return k.Words + " " + k.Value(v) + " is " + way + " the limit " + k.Value(limit)
}
