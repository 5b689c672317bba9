package term

import (
	"io"
	"strings"
	"unicode/utf8"
)

// plain are the characters of the tool's own texts and drawings in ASCII, for a
// terminal whose locale has no others.
var plain = strings.NewReplacer(
	"µ", "u", "μ", "u", "°", " deg", "²", "2", "³", "3", "±", "+/-", "×", "x", "·", "*", "≤", "<=", "≥", ">=", "−", "-", "–", "-", "—", "-", "…", "...", "→", "->", "√", "sqrt ",
	"█", "#", "▀", "\"", "▄", "_", "┤", "|", "┼", "+", "┬", "+", "│", "|", "─", "-", "└", "+", "╌", "-", "┊", ":", "•", "*", "“", "\"", "”", "\"", "‘", "'", "’", "'",
	"ä", "ae", "ö", "oe", "ü", "ue", "Ä", "Ae", "Ö", "Oe", "Ü", "Ue", "ß", "ss", "π", "pi", "σ", "sigma", "∞", "infinite")

// asciiWriter writes a text in ASCII; a character that it has no word for becomes
// a question mark. A write must hold whole characters.
type asciiWriter struct{ to io.Writer }

func (w asciiWriter) Write(p []byte) (int, error) {
	if _, err := io.WriteString(w.to, ASCII(string(p))); err != nil {
		return 0, err
	}
	return len(p), nil
}

// ASCII is a text for those who can show no other characters.
func ASCII(text string) string {
	return strings.Map(func(r rune) rune {
		if r >= utf8.RuneSelf {
			return '?'
		}
		return r
	}, plain.Replace(text))
}

// speaksUTF8 says whether the locale has all characters. The first variable that
// is set decides, as POSIX has it; none at all is taken as a system that does not
// use them, where UTF-8 is the rule.
func speaksUTF8(env func(string) string) bool {
	for _, name := range []string{"LC_ALL", "LC_CTYPE", "LANG"} {
		if v := env(name); v != "" {
			v = strings.ToLower(v)
			return strings.Contains(v, "utf-8") || strings.Contains(v, "utf8")
		}
	}
	return true
}
