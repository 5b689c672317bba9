// Package sheet is what is written for a spreadsheet.
package sheet

import "strings"

// Cell is a text as a spreadsheet may be given it: one that it would take for a
// formula, and work out when the file is opened, has an apostrophe before it (OWASP,
// "CSV Injection"). Numbers with a sign are left as they are.
func Cell(text string) string {
	if text == "" || !strings.ContainsRune("=+-@\t\r\n", rune(text[0])) || isNumber(text) {
		return text
	}
	return "'" + text
}

// isNumber takes a sign, digits, and a point and an exponent where they belong.
func isNumber(text string) bool {
	rest := strings.TrimLeft(text[:1], "+-") + text[1:]
	mantissa, exponent, has := strings.Cut(strings.ToLower(rest), "e")
	if has && !digits(strings.TrimLeft(exponent, "+-")) {
		return false
	}
	whole, fraction, point := strings.Cut(mantissa, ".")
	return digits(whole) && (!point || digits(fraction))
}

func digits(text string) bool { return text != "" && strings.Trim(text, "0123456789") == "" }
