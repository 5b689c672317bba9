package render

import (
	"strconv"
	"strings"
	"time"

	"barrelbook/domain/quantity"
)

// Units prints quantities in one system of units: with the unit in a
// sentence, without it under a heading that names it.
type Units struct{ System quantity.System }

// Length is a diameter or another length of record: "738.412 mm".
func (u Units) Length(mm float64) string {
	um, err := quantity.FromMM(mm)
	if err != nil { // not a length of record; show what was sent
		return strconv.FormatFloat(mm, 'g', -1, 64) + " mm"
	}
	return u.System.ShowLength(um)
}

// Dimension is a thickness, a width or the like: "1250 mm".
func (u Units) Dimension(mm float64) string { return trimmed(u.System.ShowDimension(mm)) }

// Small is a wear, a crown or a mismatch: "462 µm".
func (u Units) Small(um float64) string { return trimmed(u.System.ShowCrown(um)) }

// Mass is in tonnes or the system's tons.
func (u Units) Mass(t float64) string { return u.System.ShowMass(t) }

// Rolled is a length rolled, in km or ft.
func (u Units) Rolled(km float64) string { return u.System.ShowRolledLength(km) }

// Force is in kN or the system's tonf.
func (u Units) Force(kn float64) string { return u.System.ShowForce(kn) }

// Stress is in MPa or ksi.
func (u Units) Stress(mpa float64) string { return u.System.ShowStress(mpa) }

// LineLoad is in N/mm or lbf/in.
func (u Units) LineLoad(nPerMM float64) string { return u.System.ShowLineLoad(nPerMM) }

// trimmed is a quantity without the zeros that end its decimals: "990 mm".
func trimmed(shown string) string {
	number, unit, _ := strings.Cut(shown, " ")
	if strings.Contains(number, ".") && !strings.Contains(number, "e") {
		number = strings.TrimRight(strings.TrimRight(number, "0"), ".")
	}
	return number + " " + unit
}

// Bare is the number of a text made here, without its unit, for a cell.
func Bare(shown string) string {
	number, _, _ := strings.Cut(shown, " ")
	return number
}

// unitOf is the unit alone, for a heading.
func unitOf(shown string) string {
	_, unit, _ := strings.Cut(shown, " ")
	return unit
}

// LengthColumn heads a column of lengths of record. The key keeps the unit of
// the cells, so that a CSV says what it holds.
func (u Units) LengthColumn(what, key string) Column {
	return column(what, key, unitOf(u.Length(0)))
}

// SmallColumn heads a column of wears, crowns or mismatches.
func (u Units) SmallColumn(what, key string) Column { return column(what, key, unitOf(u.Small(0))) }

// MassColumn heads a column of masses.
func (u Units) MassColumn(what, key string) Column { return column(what, key, unitOf(u.Mass(0))) }

// RolledColumn heads a column of rolled lengths.
func (u Units) RolledColumn(what, key string) Column { return column(what, key, unitOf(u.Rolled(0))) }

// BarrelPlot draws a depth in µm along a barrel in mm, in the system's units.
func (u Units) BarrelPlot(xMM, um []float64) Plot {
	x, xUnit := scaled(xMM, u.Dimension)
	y, yUnit := scaled(um, u.Small)
	return Plot{X: x, Y: y, XUnit: xUnit, YUnit: yUnit}
}

// WearPlot draws the wear along a barrel with the limit on it, where there is one.
func (u Units) WearPlot(xMM, um []float64, limitUM *float64) Plot {
	plot := u.BarrelPlot(xMM, um)
	if limitUM != nil {
		limit, _ := scaled([]float64{*limitUM}, u.Small)
		plot.Limit = limit[0]
	}
	return plot
}

// LoadPlot draws a line load in N/mm along a barrel in mm, standing up.
func (u Units) LoadPlot(xMM, nPerMM []float64) Plot {
	x, xUnit := scaled(xMM, u.Dimension)
	y, yUnit := scaled(nPerMM, u.LineLoad)
	return Plot{X: x, Y: y, XUnit: xUnit, YUnit: yUnit, Up: true}
}

// scaled carries values into the unit that show prints. One factor for all,
// taken from a round figure, keeps the shape as it was; its three to five
// digits are more than a drawing in characters can show.
func scaled(values []float64, show func(float64) string) ([]float64, string) {
	const round = 10_000
	shown := show(round)
	factor, err := strconv.ParseFloat(Bare(shown), 64)
	if err != nil {
		return values, unitOf(shown)
	}
	out := make([]float64, len(values))
	for i, v := range values {
		out[i] = v * factor / round
	}
	return out, unitOf(shown)
}

func column(what, key, unit string) Column {
	plain := strings.NewReplacer("µ", "u", " ", "_").Replace(strings.ToLower(unit))
	return Column{Head: what + ", " + unit, Key: key + "_" + plain, Right: true}
}

// Time is a moment in UTC, to the minute: "2026-03-04 14:05Z". Where a person
// reads it the screen shows it in their own zone (term.Streams.Local).
func Time(t time.Time) string { return t.UTC().Format("2006-01-02 15:04") + "Z" }

// OptTime is a moment that may not be known.
func OptTime(t *time.Time) string {
	if t == nil {
		return ""
	}
	return Time(*t)
}

// Opt is the value behind p, or the zero value.
func Opt[T any](p *T) T {
	var zero T
	if p == nil {
		return zero
	}
	return *p
}

// Words makes a wire word readable: "eddy_current" becomes "eddy current".
func Words[S ~string](word S) string { return strings.ReplaceAll(string(word), "_", " ") }

// Number prints v with up to digits significant digits and no exponent for
// everyday sizes; whole units are never cut.
func Number(v float64, digits int) string {
	text := strconv.FormatFloat(v, 'g', digits, 64)
	if strings.Contains(text, "e+") {
		return strconv.FormatFloat(v, 'f', 0, 64)
	}
	return text
}

// Count is a number with its noun: "1 piece", "3 pieces", "2 entries".
func Count(n int64, noun string) string {
	switch {
	case n == 1:
		return "1 " + noun
	case strings.HasSuffix(noun, "y"):
		noun = strings.TrimSuffix(noun, "y") + "ie"
	}
	return strconv.FormatInt(n, 10) + " " + noun + "s"
}

// Percent is a probability as people say it. What is not certain is never
// rounded to certainty; that of a yes is never told as certain.
func Percent(p float64) string {
	switch {
	case p <= 0:
		return "0 %"
	case p < 0.01:
		return "<1 %"
	case p > 0.99:
		return ">99 %"
	}
	return strconv.FormatFloat(100*p, 'f', 0, 64) + " %"
}
